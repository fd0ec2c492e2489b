package layout

import "strings"

// Set1020 returns the 19 scalp sites of the 10-20 system, front to back and
// left to right.
func Set1020() []Name {
	return list("Fp1 Fp2 F7 F3 Fz F4 F8 T7 C3 Cz C4 T8 P7 P3 Pz P4 P8 O1 O2")
}

// Set1010 returns the 89 sites of the 10-10 system, front to back and left to
// right: every site that the rules place at tenths of midline and rings and at
// quarters of the coronal rows. It is wider than the guideline's figure: the AF
// and PO rows are as full as the others (AF5, AF1, PO5, PO1), and the lower
// ring goes all round (N1, N2, I1, I2).
func Set1010() []Name {
	set := list("N1 Nz N2 Fp1 Fpz Fp2")
	for _, r := range rows {
		if r.tenth {
			set = append(set, r.names([]string{"9", "7", "5", "3", "1"})...)
		}
	}
	return append(set, list("O1 Oz O2 I1 Iz I2")...)
}

// Set1005 returns the 345 sites of the 10-5 system, front to back and left to
// right.
func Set1005() []Name {
	set := list("N1 N1h Nz N2h N2 NFp1 NFp1h NFpz NFp2h NFp2 Fp1 Fp1h Fpz Fp2h Fp2")
	for _, r := range rows {
		set = append(set, r.names([]string{"9", "9h", "7", "7h", "5", "5h", "3", "3h", "1", "1h"})...)
	}
	return append(set, list("O1 O1h Oz O2h O2 OI1 OI1h OIz OI2h OI2 I1 I1h Iz I2h I2")...)
}

// A row is a coronal row of the 10-5 system. The sites over the temples carry
// other letters than those near the midline.
type row struct {
	temporal, medial string // letters before 9 to 7h, and before 5 to z
	tenth            bool   // belongs to the 10-10 system too
}

var rows = [...]row{
	{"AFp", "AFp", false},
	{"AF", "AF", true},
	{"AFF", "AFF", false},
	{"F", "F", true},
	{"FFT", "FFC", false},
	{"FT", "FC", true},
	{"FTT", "FCC", false},
	{"T", "C", true},
	{"TTP", "CCP", false},
	{"TP", "CP", true},
	{"TPP", "CPP", false},
	{"P", "P", true},
	{"PPO", "PPO", false},
	{"PO", "PO", true},
	{"POO", "POO", false},
}

// names lists the row from left to right, given the numbers of its left half.
func (r row) names(numbers []string) []Name {
	half := make([]Name, len(numbers))
	for i, number := range numbers {
		letters := r.medial
		if number[0] >= '7' {
			letters = r.temporal
		}
		half[i] = Name(letters + number)
	}
	whole := append(half, Name(r.medial+"z"))
	for i := len(numbers) - 1; i >= 0; i-- {
		whole = append(whole, oppositeOfLeft(half[i]))
	}
	return whole
}

// list splits names at blanks.
func list(text string) []Name {
	fields := strings.Fields(text)
	names := make([]Name, len(fields))
	for i, f := range fields {
		names[i] = Name(f)
	}
	return names
}
