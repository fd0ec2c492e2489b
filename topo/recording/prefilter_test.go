package recording

import (
	"strings"
	"testing"
	"unicode"
)

func TestFilters(t *testing.T) {
	for text, want := range map[string]string{
		"":                                  "",
		"None":                              "",
		"HP:0.1Hz LP:75Hz":                  "high-pass 0.1 Hz, low-pass 75 Hz",
		"HP:0.1Hz LP:75Hz N:50Hz":           "high-pass 0.1 Hz, low-pass 75 Hz, notch 50 Hz",
		"LP: 75 Hz, HP: 0.016 Hz; N:60":     "high-pass 0.016 Hz, low-pass 75 Hz, notch 60 Hz",
		"LP:75Hz,HP:0.016Hz":                "high-pass 0.016 Hz, low-pass 75 Hz",
		"HP:0.10Hz|LP:100.0Hz|NOTCH:50Hz":   "high-pass 0.1 Hz, low-pass 100 Hz, notch 50 Hz",
		"hp:.1hz lp:75hz":                   "low-pass 75 Hz",
		"HP:0Hz LP:0Hz N:0Hz":               "",
		"HP:DC LP:113 Hz":                   "low-pass 113 Hz",
		"HP:0.3s LP:70Hz":                   "low-pass 70 Hz",
		"HP:0,1Hz LP:75Hz":                  "low-pass 75 Hz",
		"HP:0.1Hz LP:75Hz Hemlich, M. 1970": "high-pass 0.1 Hz, low-pass 75 Hz",
		"N:1970-01-01 HP:12345678Hz":        "",
		"PATIENTN:50Hz":                     "",
		"HP:1e9Hz LP:0x10Hz":                "",
		"born 01.02.1970":                   "",
		"HP:0.1Hz\x1b[2J LP:75Hz\u202e":     "",
	} {
		if got := (&Signal{Prefilter: text}).Filters().String(); got != want {
			t.Errorf("%q: got %q, want %q", text, got, want)
		}
	}
}

// Whatever stands in the text, no more than the known words and numbers leaves
// it.
func FuzzFilters(f *testing.F) {
	f.Add("HP:0.1Hz LP:75Hz N:50Hz Hemlich")
	f.Add("N:50;LP:1|HP:")
	words := strings.NewReplacer("high-pass ", "", "low-pass ", "", "notch ", "", " Hz", "", ", ", "")
	f.Fuzz(func(t *testing.T, text string) {
		rest := words.Replace((&Signal{Prefilter: text}).Filters().String())
		if strings.ContainsFunc(rest,
			func(r rune) bool { return !unicode.IsDigit(r) && !strings.ContainsRune(".e-", r) }) {
			t.Errorf("%q lets %q through", text, rest)
		}
	})
}
