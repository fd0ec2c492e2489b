package array

import (
	"slices"
	"strings"
	"testing"
)

func TestOpenText(t *testing.T) {
	for text, want := range map[string][]float64{
		"Fz,Cz\n1,2\n3,4\n":                  {1, 2, 3, 4},
		"\ufeffFz\tCz\r\n1\t2\r\n3\t4\r\n\n": {1, 2, 3, 4},
		"1; 2\n 3;4e1":                       {1, 2, 3, 40},
		"\"Fz\"\n-1.5\n":                     {-1.5},
	} {
		a, err := OpenText(strings.NewReader(text))
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		if got := []float64(a.numbers.(parsed)); !slices.Equal(got, want) ||
			a.Shape[0]*a.Shape[1] != len(want) {
			t.Errorf("%q: %v of %v, want %v", text, got, a.Shape, want)
		}
	}
}

func TestOpenTextRefused(t *testing.T) {
	for text, want := range map[string]string{
		"":                    "no line of numbers: expected a line a sample",
		"Fz,Cz\n":             "no line of numbers",
		"Fz,\n1,2\n":          "line 1: a column without a name",
		"Fz,Cz\n1,2\n3\n":     "line 3: 1 columns: expected 2",
		"Fz,Cz\n1,2\n\n3,4\n": "line 4: 2 columns: expected 2, as in the first line, and no empty line before",
		"Fz,Cz\n1,NaN\n":      `line 2, column "Cz": "NaN": expected a finite number`,
		"1,\n":                `line 1, column "2": ""`,
		"Fz;Cz\n1,5;2\n":      `"1,5": expected a finite number, decimals after a point`,
		"Fz,Cz\n0x10,2\n":     `"0x10"`,
		"Fz\n" + strings.Repeat("1", longestLine+1): "line 2: more than 262144 bytes",
	} {
		if _, err := OpenText(strings.NewReader(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%.20q: %v, want %q", text, err, want)
		}
	}
}
