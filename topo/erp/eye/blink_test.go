package eye

import "testing"

func TestBlinkRule(t *testing.T) {
	at := func(values ...float64) []float64 { return append(make([]float64, 20), values...) }
	for _, c := range []struct {
		name     string
		vertical []float64
		from, to int // of the blink; equal: none
	}{
		{"a blink with its slopes", at(10, 30, 90, 150, 60, 21, 19, 0), 21, 26},
		{"upside down", at(-10, -30, -90, -150, -60, -21, -19, 0), 21, 26},
		{"at the peak's limit", at(50, 100, 50), 0, 0},
		{"to the end", at(0, 120, 130), 21, 23},
		{"two sides", at(0, 150, -150, 0), 21, 23},
	} {
		for k := range c.vertical {
			c.vertical[k] += 7000 // where the eye at rest stands does not matter
		}
		for k, in := range UsualBlinks.Find(c.vertical) {
			if in != (k >= c.from && k < c.to) {
				t.Errorf("%s: sample %d: %v", c.name, k, in)
			}
		}
	}
}
