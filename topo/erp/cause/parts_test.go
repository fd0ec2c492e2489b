package cause

import (
	"math"
	"strings"
	"testing"

	"calotte/topo/internal/erptest"
)

// Waves of known sizes come out as they went in.
func TestPartsOfARow(t *testing.T) {
	const rate, n = 500, 500
	m := NewMeter(n, rate, 50)
	row := make([]float64, n)
	for k := range row {
		s := float64(k) / rate
		row[k] = 30*math.Sin(2*math.Pi*3*s) + 4*math.Sin(2*math.Pi*50*s) + 6*math.Sin(2*math.Pi*83*s)
	}
	p, _ := m.Parts(row)
	if !erptest.Near(p.Slow, 60, 4) || !erptest.Near(p.Hum, 4, .1) || !erptest.Near(p.Rest, 6/math.Sqrt2, .4) ||
		!erptest.Near(p.Fast, 20, 2) || p.Hums() {
		t.Errorf("%+v, want 60, 20, %.3g and 4", p, 6/math.Sqrt2)
	}
}

// Where the mains cannot be seen, there is no hum, and nothing fails.
func TestPartsWithoutMains(t *testing.T) {
	for _, mains := range []float64{0, 50, 60} {
		if p, _ := NewMeter(20, 100, mains).Parts(make([]float64, 20)); p != (Parts{}) {
			t.Errorf("%v Hz: %+v of a flat row", mains, p)
		}
	}
}

// Every cause has its advice, and names its electrodes where these matter.
func TestEveryCauseHasAdvice(t *testing.T) {
	for _, c := range []Cause{Blink, Sideways, Movement, Jaw, Forehead, Neck, Contact, Dead, Exchanged, LoneHum,
		SharedHum} {
		f := Found{Cause: c, Sites: []string{"T7", "T8", "F7", "F8", "FT7"}}
		of := c == Blink || c == Sideways || c == Movement || c == SharedHum
		if c.Rank() < 0 || strings.Contains(f.Advice(), "T7, T8, F7, F8 and 1 more") == of {
			t.Errorf("%s: %q", c, f.Advice())
		}
	}
}

func TestCollectedCauses(t *testing.T) {
	var list []Found
	for _, of := range []struct {
		why  Cause
		site string
	}{{Blink, "Fp1"}, {Jaw, "T7"}, {Jaw, "T8"}, {Jaw, "T8"}} {
		list = Collect(list, of.why, of.site, true)
	}
	ByEpochs(list)
	if got, want := list[0].Lost(), "3 to jaw and temple muscle, most at T8 (2), T7 (1)"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
