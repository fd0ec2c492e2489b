package layout_test

import (
	"testing"

	"calotte/layout"
)

func TestSpelled(t *testing.T) {
	for text, want := range map[string]string{
		"Fc5.": "FC5", "fp1": "Fp1", "FPZ": "Fpz", "AFZ..": "AFz", "T7": "T7", "t3": "T3", "T5.": "T5",
		" Cz ": "Cz", "a1": "A1", "EEG001": "EEG001", "nasion": "nasion", "x1.": "x1", "": "", "Ö1": "Ö1",
		"AFF5h": "AFF5h", "aff5H": "AFF5h",
	} {
		if got := layout.Spelled(text); got != want {
			t.Errorf("%q is spelled %q, want %q", text, got, want)
		}
	}
}
