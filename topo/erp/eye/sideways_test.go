package eye_test

import (
	"testing"

	"calotte/topo/erp/eye"
	"calotte/topo/erp/montage"
)

func TestSideways(t *testing.T) {
	for _, c := range []struct {
		labels []string
		want   string // empty: none
	}{
		{[]string{"EOG HEOG", "EOG VEOG"}, "HEOG"},
		{[]string{"HEOG"}, "HEOG"},
		{[]string{"EOG VEOG"}, ""},
		{[]string{"HEOGL", "HEOGR", "VEOG"}, "HEOGR-HEOGL"},
		{[]string{"EOG left", "EOG right"}, "right-left"},
		{[]string{"EOG R", "EOG L"}, "R-L"},
		{[]string{"LOC", "ROC"}, "ROC-LOC"},
		{[]string{"REOG", "LEOG", "EOGV"}, "REOG-LEOG"},
		{[]string{"EOG HEOG1", "EOG HEOG2"}, ""}, // nobody knows which is right
		{[]string{"EOG HEOGR"}, ""},
		{nil, ""},
	} {
		m := &montage.Montage{}
		for _, l := range c.labels {
			m.Aside = append(m.Aside, montage.Aside{Label: l})
		}
		got, ok := eye.Sideways(m)
		if ok != (c.want != "") || ok && got.String() != c.want {
			t.Errorf("%q: %v, %v, want %q", c.labels, got, ok, c.want)
		}
	}
}
