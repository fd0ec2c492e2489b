package measure_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"pgregory.net/rapid"

	"calotte/topo/measure"
	"calotte/topo/unit"
)

func seconds(from, to float64) unit.Span {
	return unit.Span{From: unit.Time(from), To: unit.Time(to)}
}

// The numbers of numpy and scipy, by testdata/measure/component.py.
func TestComponentsAgainstScipy(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "measure", "component.json"))
	if err != nil {
		t.Fatal(err)
	}
	var want struct {
		Times, Values []float64
		Cases         []struct {
			From, To                       float64
			Negative                       bool
			Mean, Latency, Amplitude, Area float64
			Onsets                         []float64 // at .5, .9, .99 and .999 of the peak, to 1e-6 s
			AreaLatency                    float64   `json:"area_latency"`
		}
		Maps          [][]float64
		Dissimilarity float64
	}
	if err := json.Unmarshal(text, &want); err != nil {
		t.Fatal(err)
	}
	w := measure.Wave{Times: want.Times, Values: want.Values}
	for _, c := range want.Cases {
		polarity, span := measure.Positive, seconds(c.From, c.To)
		if c.Negative {
			polarity = measure.Negative
		}
		mean, err1 := w.Mean(span)
		peak, err2 := w.Peak(span, polarity)
		area, err3 := w.Area(span, polarity)
		half, err4 := w.FractionalArea(span, polarity, .5)
		if err := errors.Join(err1, err2, err3, err4); err != nil {
			t.Fatal(err)
		}
		for name, pair := range map[string][2]float64{
			"mean": {mean, c.Mean}, "latency": {peak.Latency, c.Latency},
			"amplitude": {peak.Amplitude, c.Amplitude},
			"area":      {area, c.Area}, "half of the area": {half, c.AreaLatency},
		} {
			if math.Abs(pair[0]-pair[1]) > 1e-9 {
				t.Errorf("%g to %g: %s is %.12g, want %.12g", c.From, c.To, name, pair[0], pair[1])
			}
		}
		for i, fraction := range []float64{.5, .9, .99, .999} {
			if onset, err := w.Onset(peak, fraction); err != nil || math.Abs(onset-c.Onsets[i]) > 2e-6 {
				t.Errorf("%g to %g: onset at %g is %.7f (%v), want %.7f", c.From, c.To, fraction, onset, err,
					c.Onsets[i])
			}
		}
	}
	if got := measure.Dissimilarity(want.Maps[0], want.Maps[1]); math.Abs(got-want.Dissimilarity) > 1e-12 {
		t.Errorf("dissimilarity %g, want %g", got, want.Dissimilarity)
	}
}

func TestComponentsThatAreNotThere(t *testing.T) {
	var w measure.Wave
	for i := range 50 {
		w.Times = append(w.Times, float64(i)*.01)
		w.Values = append(w.Values, float64(i)) // a ramp
	}
	if _, err := w.Peak(seconds(.1, .2), measure.Positive); !errors.Is(err, measure.ErrEdge) {
		t.Errorf("a ramp has a peak: %v", err)
	}
	if _, err := w.Peak(seconds(.101, .109), measure.Positive); !errors.Is(err, measure.ErrNoSample) {
		t.Errorf("between two samples: %v", err)
	}
	if _, err := w.FractionalArea(seconds(.1, .2), measure.Negative, .5); !errors.Is(err, measure.ErrNoArea) {
		t.Errorf("a ramp above zero has a negative area: %v", err)
	}
	for i := range w.Values {
		w.Values[i] = 3
		if i == 20 {
			w.Values[i] = 4
		}
	}
	peak, err := w.Peak(seconds(.1, .3), measure.Positive)
	if err != nil || math.Abs(peak.Latency-.2) > 1e-12 {
		t.Errorf("%+v, %v", peak, err)
	}
	if _, err := w.Onset(peak, .5); !errors.Is(err, measure.ErrNoOnset) {
		t.Errorf("a wave that never falls to half has an onset: %v", err)
	}
}

// A trough above zero is a negative peak whose onset nobody can tell, and of
// two equal samples at the top the peak lies between them.
func TestOddPeaks(t *testing.T) {
	trough := measure.Wave{}
	for i := range 101 {
		at := float64(i)*.004 - .1
		v := 0.
		for k, knots := 0, [][2]float64{{-.1, 0}, {0, 0}, {.12, 2}, {.152, 1}, {.2, 3}, {.3, 0}}; k < 5; k++ {
			a, b := knots[k], knots[k+1]
			if at >= a[0] && at <= b[0] {
				v = a[1] + (b[1]-a[1])*(at-a[0])/(b[0]-a[0])
			}
		}
		trough.Times, trough.Values = append(trough.Times, at), append(trough.Values, v)
	}
	peak, err := trough.Peak(seconds(.14, .165), measure.Negative)
	if err != nil || math.Abs(peak.Amplitude-1) > .01 {
		t.Fatalf("%+v, %v", peak, err)
	}
	if _, err := trough.Onset(peak, .5); !errors.Is(err, measure.ErrOtherSign) {
		t.Errorf("the onset of a trough above zero: %v", err)
	}
	if peak, err = trough.Peak(seconds(.14, .165), measure.Either); err != nil {
		t.Fatal(err)
	}
	if _, err := trough.Onset(peak, .5); !errors.Is(err, measure.ErrOtherSign) {
		t.Errorf("the same, of either polarity: %v", err)
	}
	tie := measure.Wave{}
	for i := range 101 {
		at := float64(i)*.004 - .1
		tie.Times, tie.Values = append(tie.Times, at), append(tie.Values,
			math.Round(5e6*math.Exp(-math.Pow((at-.15)/.03, 2)))/1e6)
	}
	if peak, err = tie.Peak(seconds(.1, .2), measure.Positive); err != nil || math.Abs(peak.Latency-.15) > 1e-9 {
		t.Errorf("two equal samples at the top: %+v, %v", peak, err)
	}
	for i, at := range tie.Times {
		tie.Values[i] = min(4.5, 5*math.Exp(-math.Pow((at-.15)/.03, 2)))
	}
	if peak, err = tie.Peak(seconds(.1, .2), measure.Positive); err != nil || math.Abs(peak.Latency-.15) > 1e-9 ||
		peak.Amplitude != 4.5 {
		t.Errorf("a flat top: %+v, %v", peak, err)
	}
}

// A parabola's vertex is found between the samples, and everything follows its
// scale and sign.
func TestPeakOfAParabola(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.Float64Range(.08, .12).Draw(t, "at")
		height := rapid.Float64Range(.5, 50).Draw(t, "height")
		sign := rapid.SampledFrom([]float64{1, -1}).Draw(t, "sign")
		var w measure.Wave
		for i := range 101 {
			x := float64(i) * .002
			w.Times, w.Values = append(w.Times, x), append(w.Values, sign*(height-1000*(x-at)*(x-at)))
		}
		peak, err := w.Peak(seconds(.05, .15), measure.Either)
		if err != nil && height > 25 ||
			err == nil && (math.Abs(peak.Latency-at) > 1e-9 ||
				math.Abs(peak.Amplitude-sign*height) > 1e-9) {
			t.Errorf("%+v, %v: want %g at %g s", peak, err, sign*height, at)
		}
	})
}

// By hand: the scores 1, 2, 3 of averages that leave one of three out spread by
// 1 about 2, and √(2/3 · 2) is 1.1547.
func TestJackknifeError(t *testing.T) {
	if got := measure.JackknifeError([]float64{1, 2, 3}); math.Abs(got-math.Sqrt(4./3)) > 1e-15 {
		t.Errorf("%g", got)
	}
	// Of means the jackknife is the usual standard error: 1, 2, 6 have
	// sd/√3 = 1.527525.
	if got := measure.JackknifeError([]float64{(2 + 6) / 2., (1 + 6) / 2.,
		(1 + 2) / 2.}); math.Abs(got-1.5275252317) > 1e-9 {
		t.Errorf("%g", got)
	}
}

func ExampleWave_Peak() {
	var w measure.Wave
	for i := range 101 {
		t := float64(i) * .004
		w.Times = append(w.Times, t)
		w.Values = append(w.Values, -6*math.Exp(-math.Pow((t-.171)/.03, 2)))
	}
	peak, err := w.Peak(unit.Span{From: .15, To: .19}, measure.Negative)
	fmt.Printf("%.1f µV at %.1f ms, %v\n", peak.Amplitude, 1000*peak.Latency, err)
	// Output: -6.0 µV at 171.0 ms, <nil>
}

// Wherever the vertex lies between the samples, the wave is beyond the share
// all the way from the onset to it: an onset is not that of the wave before.
func TestOnsetIsOfThisPeak(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		latency := rapid.Float64Range(.15, .2).Draw(t, "latency")
		width := rapid.Float64Range(.008, .03).Draw(t, "width")
		fraction := rapid.Float64Range(.1, .9999).Draw(t, "fraction")
		var w measure.Wave
		for i := range 101 {
			at := float64(i) * .004
			w.Times = append(w.Times, at)
			early := (at - .06) / .02
			v := (at - latency) / width
			w.Values = append(w.Values, -4*math.Exp(-early*early)-5*math.Exp(-v*v))
		}
		peak, err := w.Peak(seconds(.14, .21), measure.Negative)
		if err != nil {
			t.Fatal(err)
		}
		onset, err := w.Onset(peak, fraction)
		if err != nil || onset < latency-3*width || onset >= peak.Latency {
			t.Fatalf("onset %g of a peak at %g (%v)", onset, peak.Latency, err)
		}
		for i, at := range w.Times {
			if at > onset+1e-12 && at < peak.Latency && w.Values[i] > fraction*peak.Amplitude {
				t.Fatalf("%g µV at %g, between the onset %g and the vertex", w.Values[i], at, onset)
			}
		}
	})
}

// A window that ends between samples holds what lies beyond them: of 1 µV from
// 150 to 190 ms, 40 nV·s at any rate.
func TestAreaOfTheWholeWindow(t *testing.T) {
	for _, rate := range []float64{100, 250, 256, 1000} {
		var w measure.Wave
		for i := range 300 {
			w.Times, w.Values = append(w.Times, float64(i)/rate), append(w.Values, 1)
		}
		area, err := w.Area(seconds(.15, .19), measure.Positive)
		half, err2 := w.FractionalArea(seconds(.15, .19), measure.Positive, .5)
		if err != nil || err2 != nil || math.Abs(area-.04) > 1e-9 || math.Abs(half-.17) > 1e-9 {
			t.Errorf("%g Hz: %g, half at %g (%v, %v)", rate, area, half, err, err2)
		}
	}
}
