package digitised

import (
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout/hostile"
)

func TestParseAxes(t *testing.T) {
	v := r3.Vec{X: 1, Y: 2, Z: 3}
	for _, c := range []struct {
		text string
		want r3.Vec
	}{
		{"RAS", v},
		{" ras ", v},
		{"ALS", r3.Vec{X: -2, Y: 1, Z: 3}}, // x to the front, y to the left
		{"LPS", r3.Vec{X: -1, Y: -2, Z: 3}},
		{"ASR", r3.Vec{X: 3, Y: 1, Z: 2}},
		{"IPL", r3.Vec{X: -3, Y: -2, Z: -1}},
	} {
		a, err := ParseAxes(c.text)
		if err != nil || a.RAS(v) != c.want {
			t.Errorf("%q: %v, %v, want %v", c.text, a.RAS(v), err, c.want)
		}
	}
	for _, text := range []string{"", "RA", "RASS", "RLS", "RAX", "LPA", "R A S", "xyz", "ÄS"} {
		if a, err := ParseAxes(text); err == nil {
			t.Errorf("%q is read as %q", text, a)
		}
	}
	right := 0
	for _, a := range allAxes() {
		if a.rightHanded() {
			right++
		}
	}
	if len(allAxes()) != 48 || right != 24 {
		t.Errorf("%d axes, %d right-handed, want 48 and 24", len(allAxes()), right)
	}
}

func FuzzParseAxes(f *testing.F) {
	f.Add("RAS")
	f.Add("als")
	f.Fuzz(func(t *testing.T, text string) {
		defer hostile.Budget(t, len(text))()
		a, err := ParseAxes(text)
		if err == nil && r3.Norm(a.RAS(r3.Vec{X: 1, Y: 2, Z: 2})) != 3 {
			t.Errorf("%q gives %q", text, a)
		}
	})
}
