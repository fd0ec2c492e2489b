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
			From, To                              float64
			Negative                              bool
			Mean, Latency, Amplitude, Onset, Area float64
			AreaLatency                           float64 `json:"area_latency"`
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
		onset, err3 := w.Onset(peak, .5)
		area, err4 := w.Area(span, polarity)
		half, err5 := w.FractionalArea(span, polarity, .5)
		if err := errors.Join(err1, err2, err3, err4, err5); err != nil {
			t.Fatal(err)
		}
		for name, pair := range map[string][2]float64{
			"mean": {mean, c.Mean}, "latency": {peak.Latency, c.Latency},
			"amplitude": {peak.Amplitude, c.Amplitude},
			"onset":     {onset, c.Onset}, "area": {area, c.Area},
			"half of the area": {half, c.AreaLatency},
		} {
			if math.Abs(pair[0]-pair[1]) > 1e-9 {
				t.Errorf("%g to %g: %s is %.12g, want %.12g", c.From, c.To, name, pair[0], pair[1])
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
