package montage

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"calotte/layout"
	"calotte/layout/hostile"
	"calotte/topo/erp/internal/list"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording"
)

func TestNewMontage(t *testing.T) {
	for _, c := range []struct {
		labels    string
		sites     string
		names     string
		others    string
		signals   []int
		reference string
		aside     string // labels
	}{
		{"Fz|Cz|Pz", "Fz Cz Pz", "Fz Cz Pz", "", []int{0, 1, 2}, "", ""},
		{"Fc5.|Iz..|T3", "FC5 Iz T3", "FC5 Iz T7", "", []int{0, 1, 2}, "", ""},
		{"EEG Fz-Ref|EEG Cz-Ref", "Fz Cz", "Fz Cz", "", []int{0, 1}, "Ref", ""},
		{"EEG T3-LE|EEG T4-LE|ECG", "T3 T4", "T7 T8", "", []int{0, 1}, "LE", "ECG"},
		// Ears and mastoids stand behind the sites, wherever they are
		// in the file.
		{"M1|Fz|HEOG|A2|Cz", "Fz Cz", "Fz Cz", "M1 A2", []int{1, 4, 0, 3}, "", "HEOG"},
		{"Fz-A1|A2-A1|Cz-A1", "Fz Cz", "Fz Cz", "A2", []int{0, 2, 1}, "A1", ""},
		// An ear against another reference cannot serve as one.
		{"Fz-Cz|Pz-Cz|A2-A1", "Fz Pz", "Fz Pz", "", []int{0, 1}, "Cz", "A2-A1"},
		{"Fz|Fzz|Trigger|Cz", "Fz Cz", "Fz Cz", "", []int{0, 3}, "", "Fzz Trigger"},
	} {
		m, err := New(erptest.Signals(strings.Split(c.labels, "|")...), Options{})
		if err != nil {
			t.Errorf("%s: %v", c.labels, err)
			continue
		}
		var aside []string
		for _, a := range m.Aside {
			aside = append(aside, a.Label)
		}
		got := []string{strings.Join(m.Sites, " "), list.Join(m.Names), list.Join(m.Others), m.Reference,
			strings.Join(aside, " ")}
		want := []string{c.sites, strings.ReplaceAll(c.names, " ", ","), strings.ReplaceAll(c.others, " ", ","),
			c.reference, c.aside}
		if !slices.Equal(got, want) || !slices.Equal(m.Signals, c.signals) {
			t.Errorf("%s: %q, signals %v, want %q, %v", c.labels, got, m.Signals, want, c.signals)
		}
	}
}

func TestMontageSaysWhyASignalIsSetAside(t *testing.T) {
	m, err := New(erptest.Signals("Fz", "Fzz", "EOG left", "Cz", "M1-Cz"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []string{"nearest known: Fz", "no electrode on the scalp",
		"its reference is not that of the scalp sites"} {
		if got := m.Aside[i].Reason; !strings.Contains(got, want) {
			t.Errorf("%s: %q, want %q", m.Aside[i].Label, got, want)
		}
	}
}

// A bipolar chain, written with old names, and ears of both sides.
func TestNewMontageDerives(t *testing.T) {
	for _, c := range []struct{ labels, sites, others, reference string }{
		{"Fp1-F7|F7-T3|T3-T5|Cz-T5", "Fp1 F7 T7 P7 Cz", "", "P7"},
		{"P7-A1|P8-A2|A1-A2", "P7 P8", "A1 A2", "A1"},
	} {
		m, err := New(erptest.Signals(strings.Split(c.labels, "|")...), Options{})
		if err != nil {
			t.Fatal(err)
		}
		if strings.Join(m.Sites, " ") != c.sites || strings.Join(list.Texts(m.Others), " ") != c.others ||
			m.Reference != c.reference {
			t.Errorf("%s: sites %q, others %q against %s", c.labels, m.Sites, m.Others, m.Reference)
		}
		// Potentials that the signals are made of come back, less that
		// of the reference.
		potential := map[string]float64{"Fp1": 3, "F7": 5, "T7": -7, "P7": 11, "Cz": -2, "P8": 4, "A1": 6,
			"A2": 9}
		var samples [][]float64
		for label := range strings.SplitSeq(strings.NewReplacer("T3", "T7", "T5", "P7").Replace(c.labels),
			"|") {
			site, reference, _ := strings.Cut(label, "-")
			samples = append(samples, []float64{potential[site] - potential[reference]})
		}
		rows := m.Apply(matrix.New(len(m.Mix), 1), samples)
		for i, n := range slices.Concat(m.Names, m.Others) {
			if want := potential[string(n)] - potential[c.reference]; rows[i][0] != want {
				t.Errorf("%s: %s is %v, want %v", c.labels, n, rows[i][0], want)
			}
		}
	}
}

func TestNewMontageRestores(t *testing.T) {
	m, err := New(erptest.Signals("C3-Cz", "C4-Cz", "M1-Cz"), Options{Restore: "Cz"})
	if err != nil {
		t.Fatal(err)
	}
	rows := m.Apply(matrix.New(4, 1), [][]float64{{3}, {5}, {7}})
	if got := fmt.Sprint(m.Sites, m.Others, rows); got != "[C3 C4 Cz] [M1] [[3] [5] [0] [7]]" {
		t.Error(got)
	}
	for site, want := range map[layout.Name]string{
		"C3": "C3 was recorded", "A1": "A1 is no scalp site",
		"Fz": "the recording's reference is Cz by its labels, not Fz",
	} {
		_, err := New(erptest.Signals("C3-Cz", "C4-Cz"), Options{Restore: site})
		erptest.WantError(t, err, want)
	}
}

func TestNewMontageRefuses(t *testing.T) {
	for labels, want := range map[string]string{
		"P7-A1|P8-A2":                 `the labels state different references: no derivation connects P7 A1 | P8 A2: record one between them`,
		"Fz|Cz-A1":                    `the labels state different references: no derivation connects Fz (the recording's reference) | Cz A1`,
		"T3|Cz|T7":                    `signals "T3" and "T7" are the same site: keep one`,
		"EEG Cz|Cz..":                 `signals "EEG Cz" and "Cz.." are the same site: keep one`,
		"Fz|M1|EEG M1":                `signals "M1" and "EEG M1" are the same site: keep one`,
		"ECG|Trigger":                 `none of the 2 signals is named after a scalp site ("ECG": no electrode on the scalp)`,
		"EEG001|EEG002|EEG003|EEG004": `none of the 4 signals is named after a scalp site ("EEG001": unknown site`,
		"M1|M2":                       `none of the 2 signals is named after a scalp site`,
		"":                            `none of the 1 signals`,
	} {
		_, err := New(erptest.Signals(strings.Split(labels, "|")...), Options{})
		erptest.WantError(t, err, want)
	}
	_, err := New(nil, Options{})
	erptest.WantError(t, err, "none of the 0 signals")
}

func TestMontageUnits(t *testing.T) {
	with := func(units ...string) []recording.Signal {
		s := erptest.Signals("Fz", "Cz", "Pz", "M1", "Resp")
		for i, u := range units {
			s[i].Unit = u
		}
		return s
	}
	m, err := New(with("uV", "mV", "V", "nV", "degreeC"), Options{})
	if err != nil || !slices.Equal(m.Gains, []float64{1, 1e3, 1e6, 1e-3}) {
		t.Errorf("gains %v, %v", m, err)
	}
	_, err = New(with("uV", "degreeC"), Options{})
	erptest.WantError(t, err, `signal "Cz": unit "degreeC" is not a voltage`)
	m, err = New(with("uV", "uV", "uV", ""), Options{})
	if err != nil || len(m.Others) != 0 || m.Aside[1] != (Aside{"M1", "its unit is not that of the scalp sites"}) {
		t.Errorf("an ear without a unit: %+v, %v", m, err)
	}
}

func TestMontageRates(t *testing.T) {
	s := erptest.Signals("Fz", "Cz", "A1")
	s[2].SamplesPerRecord = 50
	m, err := New(s, Options{})
	if err != nil || len(m.Others) != 0 ||
		m.Aside[0] != (Aside{"A1", "its sampling rate is not that of the scalp sites"}) {
		t.Errorf("a slow ear: %+v, %v", m, err)
	}
	s[1].SamplesPerRecord = 200
	_, err = New(s, Options{})
	erptest.WantError(t, err,
		`"Fz" and "Cz" have different sampling rates, so they cannot be mapped together: give signals that share one`)
}

func TestReferenceSet(t *testing.T) {
	for text, want := range map[string]Reference{
		"recorded": {}, " Recorded ": {}, "AVERAGE": AverageReference,
		"cz": {sites: []layout.Name{"Cz"}}, "T5, t6": {sites: []layout.Name{"P7", "P8"}},
		"A1,M2": {sites: []layout.Name{"A1", "M2"}},
	} {
		r := Reference{average: true, sites: []layout.Name{"Oz"}}
		if err := r.Set(text); err != nil || r.average != want.average || !slices.Equal(r.sites, want.sites) {
			t.Errorf("%q: %+v, %v, want %+v", text, r, err, want)
		}
	}
	for text, want := range map[string]string{
		"":           `reference "": empty site name`,
		"Cz,":        "empty site name",
		"averag":     `reference "averag": unknown site "averag"`,
		"Czz":        "nearest known: Cz",
		"M1,m1":      `reference "M1,m1" names M1 twice`,
		"T7,Cz,T3":   "names T7 twice",
		"average,M1": `expected average, recorded or site names`,
	} {
		r := AverageReference
		erptest.WantError(t, r.Set(text), want)
		if !r.average {
			t.Errorf("%q changed the reference", text)
		}
	}
}

func TestReferenceInWords(t *testing.T) {
	for _, c := range []struct{ flag, recorded, want string }{
		{"average", "LE", "average of 19 sites"},
		{"M1,M2", "Cz", "mean of M1,M2"},
		{"Cz", "", "Cz"},
		{"recorded", "A1+A2", "A1+A2, as recorded"},
		{"recorded", "", "as recorded"},
	} {
		var r Reference
		if err := r.Set(c.flag); err != nil {
			t.Fatal(err)
		}
		if got := r.Describe(19, &Montage{Reference: c.recorded}); got != c.want {
			t.Errorf("%s: %q, want %q", c.flag, got, c.want)
		}
	}
}

func FuzzReferenceSet(f *testing.F) {
	for _, text := range []string{"average", "recorded", "M1,M2", "t3", "Cz,", "\x00", "É"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		defer hostile.Budget(t, len(text))()
		var r, again Reference
		if r.Set(text) != nil {
			return
		}
		if err := again.Set(r.String()); err != nil || again.average != r.average ||
			!slices.Equal(again.sites, r.sites) {
			t.Errorf("%q became %q, which reads as %+v, %v", text, r, again, err)
		}
	})
}
