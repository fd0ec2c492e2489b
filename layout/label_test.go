package layout

import (
	"errors"
	"os"
	"slices"
	"strings"
	"testing"

	"calotte/layout/hostile"
)

func TestParseLabel(t *testing.T) {
	for _, c := range []struct {
		text string
		want Label
	}{
		// The first two are the examples of the EDF+ specification's
		// section on standard texts, from memory.
		{"EEG Fpz-Cz", Label{Kind: DerivedLabel, Type: "EEG", Site: "Fpz", SiteText: "Fpz", Reference: "Cz"}},
		{"EOG E1-M2", Label{Kind: SignalLabel, Type: "EOG"}},
		{"EEG Cz", Label{Kind: SiteLabel, Type: "EEG", Site: "Cz", SiteText: "Cz"}},
		{"EEG Cz        ", Label{Kind: SiteLabel, Type: "EEG", Site: "Cz", SiteText: "Cz"}},
		{"Fc5.", Label{Kind: SiteLabel, Type: "EEG", Site: "FC5", SiteText: "FC5"}},
		{"Iz..", Label{Kind: SiteLabel, Type: "EEG", Site: "Iz", SiteText: "Iz"}},
		{"eeg t3-ref", Label{Kind: DerivedLabel, Type: "EEG", Site: "T7", SiteText: "T3", Reference: "Ref"}},
		{"T3", Label{Kind: SiteLabel, Type: "EEG", Site: "T7", SiteText: "T3"}},
		{"Fp1 - F7", Label{Kind: DerivedLabel, Type: "EEG", Site: "Fp1", SiteText: "Fp1", Reference: "F7"}},
		{"P7-A1", Label{Kind: DerivedLabel, Type: "EEG", Site: "P7", SiteText: "P7", Reference: "A1"}},
		{"P7-T5", Label{Kind: DerivedLabel, Type: "EEG", Site: "P7", SiteText: "P7", Reference: "P7"}},
		{"EEG C3-LE", Label{Kind: DerivedLabel, Type: "EEG", Site: "C3", SiteText: "C3", Reference: "LE"}},
		{"EEG O1-(A1+A2)/2", Label{Kind: DerivedLabel, Type: "EEG", Site: "O1", SiteText: "O1",
			Reference: "A1+A2"}},
		{"EEG M2", Label{Kind: SiteLabel, Type: "EEG", Site: "M2", SiteText: "M2"}},
		{"ECG", Label{Kind: SignalLabel, Type: "ECG"}},
		{"EKG1", Label{Kind: SignalLabel, Type: "ECG"}},
		{"EMG chin", Label{Kind: SignalLabel, Type: "EMG"}},
		{"HEOG", Label{Kind: SignalLabel, Type: "EOG"}},
		{"SaO2", Label{Kind: SignalLabel, Type: "SaO2"}},
		{"Trigger", Label{Kind: SignalLabel, Type: "Trigger"}},
		{"EDF Annotations", Label{Kind: SignalLabel, Type: "Annotations"}},
	} {
		c.want.Written = c.text
		got, err := ParseLabel(c.text)
		if err != nil || got != c.want {
			t.Errorf("%q: %+v, %v, want %+v", c.text, got, err, c.want)
		}
	}
}

func TestParseLabelRefuses(t *testing.T) {
	for _, c := range []struct {
		text, message string
		unknownSite   bool
	}{
		{"", "empty site name", true},
		{"EEG", `unknown site "EEG"`, true},
		{"EEG Fzz", `label "EEG Fzz": unknown site "Fzz": nearest known: Fz`, true},
		{"EEG001", `unknown site "EEG001"`, true},
		{"E1-M2", `unknown site "E1"`, true},
		{"Fp1-0", `label "Fp1-0": unknown reference "0"`, false},
		{"Fp1-A1-A2", `unknown reference "A1-A2"`, false},
		{"Fp1-", `unknown reference ""`, false},
		{"-Cz", "empty site name", true},
	} {
		l, err := ParseLabel(c.text)
		if err == nil || !strings.Contains(err.Error(), c.message) {
			t.Errorf("%q: error %v, want %q", c.text, err, c.message)
		}
		if l.Kind != UnknownLabel || l.Written != c.text {
			t.Errorf("%q: %+v, want an unknown label as written", c.text, l)
		}
		if _, ok := errors.AsType[*UnknownError](err); ok != c.unknownSite {
			t.Errorf("%q: %T, want an unknown site: %v", c.text, err, c.unknownSite)
		}
	}
}

func TestParseLabelKnowsEveryName(t *testing.T) {
	for _, n := range names().ordered {
		for _, c := range []struct {
			text string
			want LabelKind
		}{
			{string(n), SiteLabel},
			{"EEG " + string(n), SiteLabel},
			{"EEG " + string(n) + "-Ref", DerivedLabel},
			{strings.ToLower(string(n)) + "..", SiteLabel},
		} {
			if l, err := ParseLabel(c.text); err != nil || l.Kind != c.want || l.Site != n {
				t.Errorf("%q: %+v, %v, want a %v label of %s", c.text, l, err, c.want, n)
			}
		}
	}
}

// The recordings of Schalk et al. (2004) have 64 sites of the 10-10 system,
// written as "Fc5." and "Iz..".
func TestPublishedLabels(t *testing.T) {
	f, err := os.Open("../../shared/data/eegmmidb/S001R03.edf")
	if err != nil {
		t.Skip("the open data are not here: ", err)
	}
	defer f.Close()
	text := make([]byte, 65*16)
	if _, err := f.ReadAt(text, 256); err != nil {
		t.Fatal(err)
	}
	set := Set1010()
	for i := range 64 {
		l, err := ParseLabel(string(text[16*i : 16*i+16]))
		if err != nil || l.Kind != SiteLabel || !slices.Contains(set, l.Site) {
			t.Errorf("label %d: %+v, %v, want a site of the 10-10 system", i, l, err)
		}
	}
	if l, err := ParseLabel(string(text[64*16:])); err != nil || l.Kind != SignalLabel {
		t.Errorf("last label: %+v, %v, want annotations", l, err)
	}
}

func FuzzParseLabel(f *testing.F) {
	for _, s := range []string{"EEG Fpz-Cz", "Fc5.", "EOG E1-M2", "T3-A1+A2", "EEG ", "--", "\u0130z",
		"eeg\tcz-\xff"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		defer hostile.Budget(t, len(text))()
		l, err := ParseLabel(text)
		if l.Written != text {
			t.Errorf("%q: written form is %q", text, l.Written)
		}
		if (err == nil) == (l.Kind == UnknownLabel) {
			t.Errorf("%q: kind %v with error %v", text, l.Kind, err)
		}
		hasSite := l.Kind == SiteLabel || l.Kind == DerivedLabel
		if hasSite {
			again, err := Parse(l.SiteText)
			if err != nil || again != l.Site {
				t.Errorf("%q: site text %q parses to %q, %v, want %q", text, l.SiteText, again, err,
					l.Site)
			}
		}
		if (l.Kind == DerivedLabel) != (err == nil && l.Reference != "") {
			t.Errorf("%q: kind %v with reference %q", text, l.Kind, l.Reference)
		}
	})
}
