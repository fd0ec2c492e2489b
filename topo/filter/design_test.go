package filter

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"calotte/topo/unit"
)

// designs are what the tests of responses go through, with the taps that the
// rule 3.3·rate/transition gives, worked out by hand.
var designs = []struct {
	Design
	rate float64
	taps int
}{
	{Design{HighPass: 0.1}, 500, 16501},
	{Design{HighPass: 0.1, LowPass: 30}, 500, 16501 + 221 - 1},
	{Design{HighPass: 0.1, LowPass: 30, Notch: 50}, 500, 16501 + 221 + 1651 - 2},
	{Design{HighPass: 0.5, LowPass: 40}, 256, 1691 + 85 - 1},
	{Design{HighPass: 1}, 160, 529},
	{Design{HighPass: 12}, 1000, 1651},
	{Design{LowPass: 30}, 500, 221},
	{Design{LowPass: 20}, 500, 331},
	{Design{LowPass: 3}, 500, 825},
	{Design{LowPass: 1}, 100, 331},
	{Design{LowPass: 78}, 160, 265},
	{Design{LowPass: 79}, 160, 529},
	{Design{LowPass: 200}, 1024, 69},
	{Design{HighPass: 8, LowPass: 12}, 250, 417 + 275 - 1}, // 413, lengthened
	{Design{HighPass: 8, LowPass: 9}, 250, 825 + 825 - 1},
	{Design{Notch: 50}, 500, 1651},
	{Design{Notch: 60}, 500, 1651},
	{Design{Notch: 50}, 101, 335},
	{Design{Notch: 60}, 241, 797},
	{Design{LowPass: 100, Notch: 60}, 512, 1691 + 69 - 1},
}

func (d Design) name(rate float64) string {
	return fmt.Sprintf("%v-%v,%v@%v", d.HighPass, d.LowPass, d.Notch, rate)
}

func TestTaps(t *testing.T) {
	for _, d := range designs {
		f := design(t, d.Design, d.rate)
		if f.Taps() != d.taps {
			t.Errorf("%s: %d taps, want %d", d.name(d.rate), f.Taps(), d.taps)
		}
	}
}

// TestLengthened bounds what a steep high-pass costs more than the rule says.
func TestLengthened(t *testing.T) {
	const rate, transition = 100, 0.5
	rule := reachOf(transition, rate)
	for ratio := 1.0; ratio < 12; ratio += 0.05 {
		reach := len(highPass(ratio*transition, transition, rate)) - 1
		if reach < rule || float64(reach) > 1.3*float64(rule) {
			t.Errorf("cut-off of %.2f transitions: reach %d, want %d to 1.3 times that", ratio, reach, rule)
		}
	}
	if reach := len(highPass(transition, transition, rate)) - 1; reach != rule {
		t.Errorf("transition as wide as the cut-off: reach %d, want %d", reach, rule)
	}
}

func (b band) holds(f float64) bool { return b[0] <= f && f <= b[1] }

// bands returns the cut-offs, the stop bands and the transitions of a filter.
func bands(f *Filter) (cutoffs []float64, stops, transitions []band) {
	nyquist := f.Rate / 2
	for _, p := range f.Parts {
		c, t := float64(p.Cutoff), float64(p.Transition)/2
		around := func(c float64) { // a cut-off
			cutoffs = append(cutoffs, c)
			transitions = append(transitions, band{c - t, c + t})
		}
		switch p.Kind {
		case HighPass:
			around(c)
			stops = append(stops, band{0, c - t})
		case LowPass:
			around(c)
			stops = append(stops, band{c + t, nyquist})
		case Notch:
			for m := c; m < nyquist; m += c {
				around(m - 1)
				if m+2 > nyquist {
					stops = append(stops, band{m - 0.5, nyquist})
				} else {
					around(m + 1)
					stops = append(stops, band{m - 0.5, m + 0.5})
				}
			}
		}
	}
	return cutoffs, stops, transitions
}

func holds(bands []band, f float64) bool {
	for _, b := range bands {
		if b.holds(f) {
			return true
		}
	}
	return false
}

// judge looks at a response where it matters: at the cut-offs, at the edges of
// the bands, where it is worst, and in between.
func judge(f *Filter) (leak, ripple float64, err error) {
	cutoffs, stops, transitions := bands(f)
	for _, c := range cutoffs {
		if holds(stops, c) {
			continue // another part has taken it
		}
		// Near a cut-off of another part both count.
		if g := Decibels(f.Response(unit.Frequency(c))); g > -5.9 || g < -6.15 {
			err = fmt.Errorf("%.2f dB at the cut-off of %v Hz, want -6", g, c)
		}
	}
	look := func(at float64) {
		g := f.Response(unit.Frequency(at))
		switch {
		case at > f.Rate/2:
		case holds(stops, at):
			leak = max(leak, math.Abs(g))
		case !holds(transitions, at):
			ripple = max(ripple, math.Abs(g-1))
		}
	}
	for i := range 200 {
		look(f.Rate / 2 * float64(i) / 199)
	}
	for _, b := range append(stops, transitions...) {
		step := (b[1] - b[0]) / 40
		for i := range 40 {
			look(b[0] + step*float64(i))
			look(b[1] + 1e-9 + step*float64(i))
		}
	}
	switch {
	case err != nil:
	case Decibels(leak) > -50:
		err = fmt.Errorf("stop band %.1f dB, want -50 or less", Decibels(leak))
	case ripple > 0.01:
		err = fmt.Errorf("the gain in the pass band is off by %.4f", ripple)
	}
	return leak, ripple, err
}

func TestResponse(t *testing.T) {
	for _, d := range designs {
		f := design(t, d.Design, d.rate)
		leak, ripple, err := judge(f)
		t.Logf("%s: stop band %.1f dB, ripple %.4f", d.name(d.rate), Decibels(leak), ripple)
		if err != nil {
			t.Errorf("%s: %v", d.name(d.rate), err)
		}
	}
}

// TestAnyResponse asks the same of any design.
func TestAnyResponse(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		rate := rapid.Float64Range(50, 1000).Draw(r, "rate")
		var d Design
		switch rapid.IntRange(0, 3).Draw(r, "kind") {
		case 0:
			d.HighPass = unit.Frequency(rapid.Float64Range(0.3, 0.499*rate).Draw(r, "high"))
		case 1:
			d.LowPass = unit.Frequency(rapid.Float64Range(1, 0.499*rate).Draw(r, "low"))
		case 2:
			d.HighPass = unit.Frequency(rapid.Float64Range(0.3, 0.2*rate).Draw(r, "high"))
			d.LowPass = d.HighPass + unit.Frequency(rapid.Float64Range(0.5, 0.25*rate).Draw(r, "width"))
		case 3:
			d.Notch = unit.Frequency(rapid.Float64Range(10, 0.499*rate).Draw(r, "notch"))
		}
		f, err := New(d, rate)
		if err != nil {
			r.Fatal(err)
		}
		if _, _, err := judge(f); err != nil {
			r.Fatal(err)
		}
	})
}

func TestZeroAndUnitGain(t *testing.T) {
	for _, d := range designs {
		want := 1.0
		if d.HighPass > 0 {
			want = 0
		}
		if g := design(t, d.Design, d.rate).Response(0); math.Abs(g-want) > 1e-14 {
			t.Errorf("%s: gain %g at 0 Hz, want %g", d.name(d.rate), g, want)
		}
	}
}

func TestImpulseIsSymmetric(t *testing.T) {
	for _, d := range designs {
		f := design(t, d.Design, d.rate)
		h := f.Impulse()
		for i := range h {
			if e := math.Abs(h[i] - h[len(h)-1-i]); e > 1e-15 {
				t.Fatalf("%s: taps %d and %d differ by %g", d.name(d.rate), i, len(h)-1-i, e)
			}
		}
	}
}

func TestRefusals(t *testing.T) {
	for _, c := range []struct {
		Design
		rate float64
		want string
	}{
		{Design{}, 500, "the filter has no cut-off: give a high-pass, a low-pass or a notch"},
		{Design{LowPass: 250}, 500,
			"low-pass of 250Hz: expected a frequency below 250Hz, half the sampling rate"},
		{Design{HighPass: 300}, 500,
			"high-pass of 300Hz: expected a frequency below 250Hz, half the sampling rate"},
		{Design{Notch: 50}, 100, "notch of 50Hz: expected a frequency below 50Hz, half the sampling rate"},
		{Design{Notch: 5}, 100, "notch of 5Hz: expected the mains frequency, 50Hz or 60Hz"},
		{Design{LowPass: -1}, 500, "low-pass of -1Hz: expected a positive frequency"},
		{Design{LowPass: unit.Frequency(math.NaN())}, 500, "expected a positive frequency"},
		{Design{HighPass: unit.Frequency(math.Inf(1))}, 500, "expected a positive frequency"},
		{Design{HighPass: 30, LowPass: 1}, 500,
			"high-pass of 30Hz and low-pass of 1Hz leave nothing: the high-pass has to be the lower one"},
		{Design{HighPass: 1, LowPass: 1}, 500, "leave nothing"},
		{Design{HighPass: 1e-5}, 500,
			"high-pass of 0.00001Hz would need 165000000 taps at 500 Hz, more than 1000001: raise " +
				"the cut-off"},
		{Design{LowPass: 249.9999}, 500, "away from 0 Hz and from half the sampling rate"},
		{Design{LowPass: 30}, 0, "sampling rate 0 Hz: expected a positive number"},
		{Design{LowPass: 30}, math.NaN(), "expected a positive number"},
		{Design{LowPass: 30}, math.Inf(1), "expected a positive number"},
	} {
		f, err := New(c.Design, c.rate)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, %v; want an error with %q", c.name(c.rate), f, err, c.want)
		}
	}
}
