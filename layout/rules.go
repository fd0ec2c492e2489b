package layout

// A Rule divides one arc of the head. The arc is the section by the plane
// through three points, from From over Via to To. Sites lie at equal steps: of
// the whole arc, or of each of its two halves when Split.
type Rule struct {
	From, Via, To Name
	Split         bool   // each part, before and after Via, is divided by itself
	Sites         []Name // both ends included; an odd number
}

// Arc names the arc as a technician reads it: "Nz-Cz-Iz".
func (r Rule) Arc() string { return string(r.From + "-" + r.Via + "-" + r.To) }

const (
	whole  = false // steps of the whole arc
	halves = true  // steps of each half
)

// rules places the 345 sites of the 10-5 system, and with them those of the
// 10-10 and 10-20 systems: midline, coronal and the rings' 10 % steps are
// Jasper's (1958; Klem et al. 1999), the other rows ACNS guideline 2's (2016),
// the 5 % steps Oostenveld & Praamstra's (2001). Where two rules give the same
// site, the first is followed.
var rules = [...]struct {
	from, via, to Name
	split         bool
	sites         string
}{
	// Midline, in twentieths.
	{"Nz", "Cz", "Iz", whole,
		"Nz NFpz Fpz AFpz AFz AFFz Fz FFCz FCz FCCz Cz CCPz CPz CPPz Pz PPOz POz POOz Oz OIz Iz"},
	// From ear to ear, in twentieths. The vertex halves it, so that
	// dividing each half is the same; on a head whose sides were measured
	// apart it is what the tape does.
	{"LPA", "Cz", "RPA", halves, "T9 T9h T7 T7h C5 C5h C3 C3h C1 C1h Cz C2h C2 C4h C4 C6h C6 T8h T8 T10h T10"},
	// Ring, each quarter in tenths.
	{"Fpz", "T7", "Oz", halves,
		"Fpz Fp1h Fp1 AFp7 AF7 AFF7 F7 FFT7 FT7 FTT7 T7 TTP7 TP7 TPP7 P7 PPO7 PO7 POO7 O1 O1h Oz"},
	{"Fpz", "T8", "Oz", halves,
		"Fpz Fp2h Fp2 AFp8 AF8 AFF8 F8 FFT8 FT8 FTT8 T8 TTP8 TP8 TPP8 P8 PPO8 PO8 POO8 O2 O2h Oz"},
	// Lower ring, each quarter in tenths.
	{"Nz", "LPA", "Iz", halves,
		"Nz N1h N1 AFp9 AF9 AFF9 F9 FFT9 FT9 FTT9 T9 TTP9 TP9 TPP9 P9 PPO9 PO9 POO9 I1 I1h Iz"},
	{"Nz", "RPA", "Iz", halves,
		"Nz N2h N2 AFp10 AF10 AFF10 F10 FFT10 FT10 FTT10 T10 TTP10 TP10 TPP10 P10 PPO10 PO10 POO10 I2 I2h Iz"},
	// Middle ring, each quarter in tenths.
	{"NFpz", "T9h", "OIz", halves,
		"NFpz NFp1h NFp1 AFp9h AF9h AFF9h F9h FFT9h FT9h FTT9h T9h TTP9h TP9h TPP9h P9h PPO9h PO9h POO9h " +
			"OI1 OI1h OIz"},
	{"NFpz", "T10h", "OIz", halves,
		"NFpz NFp2h NFp2 AFp10h AF10h AFF10h F10h FFT10h FT10h FTT10h T10h TTP10h TP10h TPP10h P10h " +
			"PPO10h PO10h " +
			"POO10h OI2 OI2h OIz"},
	// Other coronal rows, each half in eighths.
	{"AFp7", "AFpz", "AFp8", halves,
		"AFp7 AFp7h AFp5 AFp5h AFp3 AFp3h AFp1 AFp1h AFpz AFp2h AFp2 AFp4h AFp4 AFp6h AFp6 AFp8h AFp8"},
	{"AF7", "AFz", "AF8", halves, "AF7 AF7h AF5 AF5h AF3 AF3h AF1 AF1h AFz AF2h AF2 AF4h AF4 AF6h AF6 AF8h AF8"},
	{"AFF7", "AFFz", "AFF8", halves,
		"AFF7 AFF7h AFF5 AFF5h AFF3 AFF3h AFF1 AFF1h AFFz AFF2h AFF2 AFF4h AFF4 AFF6h AFF6 AFF8h AFF8"},
	{"F7", "Fz", "F8", halves, "F7 F7h F5 F5h F3 F3h F1 F1h Fz F2h F2 F4h F4 F6h F6 F8h F8"},
	{"FFT7", "FFCz", "FFT8", halves,
		"FFT7 FFT7h FFC5 FFC5h FFC3 FFC3h FFC1 FFC1h FFCz FFC2h FFC2 FFC4h FFC4 FFC6h FFC6 FFT8h FFT8"},
	{"FT7", "FCz", "FT8", halves, "FT7 FT7h FC5 FC5h FC3 FC3h FC1 FC1h FCz FC2h FC2 FC4h FC4 FC6h FC6 FT8h FT8"},
	{"FTT7", "FCCz", "FTT8", halves,
		"FTT7 FTT7h FCC5 FCC5h FCC3 FCC3h FCC1 FCC1h FCCz FCC2h FCC2 FCC4h FCC4 FCC6h FCC6 FTT8h FTT8"},
	{"TTP7", "CCPz", "TTP8", halves,
		"TTP7 TTP7h CCP5 CCP5h CCP3 CCP3h CCP1 CCP1h CCPz CCP2h CCP2 CCP4h CCP4 CCP6h CCP6 TTP8h TTP8"},
	{"TP7", "CPz", "TP8", halves, "TP7 TP7h CP5 CP5h CP3 CP3h CP1 CP1h CPz CP2h CP2 CP4h CP4 CP6h CP6 TP8h TP8"},
	{"TPP7", "CPPz", "TPP8", halves,
		"TPP7 TPP7h CPP5 CPP5h CPP3 CPP3h CPP1 CPP1h CPPz CPP2h CPP2 CPP4h CPP4 CPP6h CPP6 TPP8h TPP8"},
	{"P7", "Pz", "P8", halves, "P7 P7h P5 P5h P3 P3h P1 P1h Pz P2h P2 P4h P4 P6h P6 P8h P8"},
	{"PPO7", "PPOz", "PPO8", halves,
		"PPO7 PPO7h PPO5 PPO5h PPO3 PPO3h PPO1 PPO1h PPOz PPO2h PPO2 PPO4h PPO4 PPO6h PPO6 PPO8h PPO8"},
	{"PO7", "POz", "PO8", halves, "PO7 PO7h PO5 PO5h PO3 PO3h PO1 PO1h POz PO2h PO2 PO4h PO4 PO6h PO6 PO8h PO8"},
	{"POO7", "POOz", "POO8", halves,
		"POO7 POO7h POO5 POO5h POO3 POO3h POO1 POO1h POOz POO2h POO2 POO4h POO4 POO6h POO6 POO8h POO8"},
}

// Rules returns the proportional rules in the order in which they are followed.
func Rules() []Rule {
	table := make([]Rule, len(rules))
	for i, r := range rules {
		table[i] = Rule{From: r.from, Via: r.via, To: r.to, Split: r.split, Sites: list(r.sites)}
	}
	return table
}
