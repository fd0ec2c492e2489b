package contrast_test

import (
	"context"
	"fmt"
	"iter"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat"

	"calotte/layout"
	"calotte/topo/contrast"
	"calotte/topo/erp/average"
	"calotte/topo/erp/epoch"
	"calotte/topo/measure"
	"calotte/topo/unit"
)

// recorded is an invented person of 60 epochs at 250 Hz: a negativity of 6 µV
// at P7 and 9 µV at P8, about 170 ms, in noise that is alike at both.
func recorded(seed uint64) contrast.Sample {
	rng := rand.New(rand.NewPCG(seed, 3))
	window := epoch.Window{First: -10, Last: 75, Rate: 250}
	e := epoch.NewCollection([]string{"P7", "P8"}, window)
	for range 60 {
		rows := make([][]float64, 2)
		shared, own := 0., [2]float64{}
		for _, t := range window.Times() {
			shared = .9*shared + 1.5*rng.NormFloat64()
			u := (t - .17) / .03
			for s, size := range []float64{6, 9} {
				own[s] = .9*own[s] + rng.NormFloat64()
				rows[s] = append(rows[s], shared+own[s]-size*math.Exp(-u*u))
			}
		}
		e.Add(epoch.Row{Kept: true}, rows)
	}
	mean := e.Accumulate().Mean()
	return contrast.Sample{
		Average: &average.Average{Info: average.Info{Kind: average.Participant, Name: fmt.Sprint(seed)},
			Sites: e.Sites,
			Times: window.Times(), Mean: mean},
		Units: contrast.Epochs(e),
	}
}

func each(people ...contrast.Sample) iter.Seq2[contrast.Sample, error] {
	return func(yield func(contrast.Sample, error) bool) {
		for _, p := range people {
			if !yield(p, nil) {
				return
			}
		}
	}
}

// Measurement errors are what they say: over 400 recordings of one invented
// person the scores spread by the errors that are found in 16 of them, within a
// fifth. The sd of 400 is itself known to 3.5 %, and the largest departure
// found is 16 %, of the peak's latency.
func TestMeasurementErrorsOfScores(t *testing.T) {
	scoring := contrast.Scoring{Sites: []layout.Name{"P8"}}
	windows := []measure.Window{{Name: "n", Span: unit.Span{From: .14, To: .2}, Polarity: measure.Negative}}
	var found [6][]float64
	var some []contrast.Sample
	for i := range uint64(400) {
		p := recorded(i)
		if len(some) < 16 {
			some = append(some, p)
		}
		p.Units = nil
		c, err := scoring.Components(p, nil, windows)
		if err != nil {
			t.Fatal(err)
		}
		for k, v := range scores(c[0].Scores) {
			found[k] = append(found[k], v)
		}
	}
	errors, err := scoring.MeasurementErrors(context.Background(), each(some...), windows, 1)
	if err != nil {
		t.Fatal(err)
	}
	if len(errors) != 2 {
		t.Fatalf("%d errors, want those of P8 and of the field power", len(errors))
	}
	for k, name := range []string{"mean", "peak", "peak latency", "onset", "area", "area latency"} {
		want, got := stat.StdDev(found[k], nil), scores(errors[0])[k]
		t.Logf("%s: spread %.5f, error %.5f", name, want, got)
		if !(math.Abs(got/want-1) < .2) {
			t.Errorf("%s: the measurement error is %g, and scores spread by %g", name, got, want)
		}
	}
}

func scores(s contrast.Scores) [6]float64 {
	return [6]float64{s.Mean, s.Peak, s.PeakLatency, s.Onset, s.Area, s.AreaLatency}
}

// The same of right minus left, over the two sides and the difference; and of
// what is common to both sides the difference holds nothing.
func TestMeasurementErrorsOfSides(t *testing.T) {
	at := []unit.Latency{unit.Over(.15, .19)}
	var differences, rights []float64
	var some []contrast.Sample
	for i := range uint64(400) {
		p := recorded(i)
		if len(some) < 16 {
			some = append(some, p)
		}
		values, err := p.Average.At(at[0])
		if err != nil {
			t.Fatal(err)
		}
		differences, rights = append(differences, values[1]-values[0]), append(rights, values[1])
	}
	errors, err := contrast.Sides{}.MeasurementErrors(context.Background(), each(some...), at)
	if err != nil || len(errors) != 1 {
		t.Fatal(errors, err)
	}
	for name, pair := range map[string][2]float64{
		"right":      {errors[0].Second, stat.StdDev(rights, nil)},
		"difference": {errors[0].Difference, stat.StdDev(differences, nil)},
	} {
		t.Logf("%s: error %.4f, spread %.4f", name, pair[0], pair[1])
		if !(math.Abs(pair[0]/pair[1]-1) < .15) {
			t.Errorf("%s: the measurement error is %g, and values spread by %g", name, pair[0], pair[1])
		}
	}
	one, err := contrast.Sides{}.MeasurementErrors(context.Background(), each(some[0]), at)
	if err != nil {
		t.Fatal(err)
	}
	sided := contrast.SidedErrors(one, errors)
	if want := math.Hypot(one[0].First, errors[0].Second) / 2; sided[0].First != want {
		t.Errorf("ipsilateral %g, want %g", sided[0].First, want)
	}
}

// A peak that most resamples lack has no error.
func TestMeasurementErrorOfARarePeak(t *testing.T) {
	scoring := contrast.Scoring{Sites: []layout.Name{"P7"}}
	p := recorded(1)
	for _, u := range p.Units {
		for s, row := range u.Mean {
			for i := range row {
				u.Mean[s][i] += 300 * p.Average.Times[i] // no bend is a peak on such a slope
			}
		}
	}
	windows := []measure.Window{{Name: "n", Span: unit.Span{From: .14, To: .2}, Polarity: measure.Negative}}
	errors, err := scoring.MeasurementErrors(context.Background(), each(p), windows, 1)
	if err != nil || !math.IsNaN(errors[0].Peak) || !(errors[0].Mean > 0) {
		t.Errorf("%+v, %v, want an error of the mean alone", errors, err)
	}
}
