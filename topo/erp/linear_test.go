package erp

import (
	"context"
	"iter"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo"
	"calotte/topo/erp/average"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/erp/montage"
	"calotte/topo/internal/erptest"
)

// noise is an average of random epochs at some sites, with its epochs.
func noise(t *testing.T, sites []string, epochs int) (*average.Average, *epoch.Collection) {
	t.Helper()
	rng := rand.New(rand.NewPCG(7, 8))
	w := epoch.Window{First: -5, Last: 20, Rate: 250}
	e := epoch.NewCollection(sites, w)
	for range epochs {
		samples := matrix.New(len(sites), w.Len())
		for i := range samples {
			for k := range samples[i] {
				samples[i][k] = float64(float32(10 * rng.NormFloat64()))
			}
		}
		e.Add(epoch.Row{Kept: true, Onset: noResponse, Response: noResponse}, samples)
	}
	return averageOf(t, &Pipeline{}, e), e
}

// averageOf averages epochs by a pipeline.
func averageOf(t *testing.T, p *Pipeline, e *epoch.Collection) *average.Average {
	t.Helper()
	set := EpochSet{Condition: "x", Sites: e.Sites, Window: e.Window, Epochs: oneByOne(e)}
	r, err := p.RunEpochs(context.Background(), set)
	if err != nil {
		t.Fatal(err)
	}
	as, err := r.Averages("sub-01")
	if err != nil {
		t.Fatal(err)
	}
	return as[0]
}

func oneByOne(e *epoch.Collection) iter.Seq2[[][]float64, error] {
	return func(yield func([][]float64, error) bool) {
		for k := range e.Len() {
			samples, _ := e.At(k)
			own := matrix.New(len(samples), len(samples[0])) // the pipeline works in place
			for i := range samples {
				copy(own[i], samples[i])
			}
			if !yield(own, nil) {
				return
			}
		}
	}
}

// A re-referenced average is the average of re-referenced epochs, with its
// errors where the epochs are there.
func TestThroughReference(t *testing.T) {
	sites := []string{"Fz", "C3", "C4", "Pz", "P7", "P8"}
	a, e := noise(t, sites, 12)
	for _, text := range []string{"average", "Cz", "P7,P8", "Fz"} {
		var r montage.Reference
		if err := r.Set(text); err != nil {
			t.Fatal(err)
		}
		l, err := r.Linear(sites)
		if text == "Cz" {
			erptest.WantError(t, err, "the average has no Cz to be the reference")
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		want := averageOf(t, &Pipeline{Reference: r}, e)
		for _, epochs := range []*epoch.Collection{nil, e} {
			got, err := a.Through(l, epochs)
			if err != nil {
				t.Fatal(err)
			}
			erptest.WantRows(t, text+" mean", got.Mean, want.Mean, 1e-9)
			erptest.WantRows(t, text+" pairs", got.Pairs.Mean, want.Pairs.Mean, 1e-9)
			erptest.WantRows(t, text+" errors of pairs", got.Pairs.SEM, want.Pairs.SEM, 1e-9)
			if epochs == nil && got.SEM != nil {
				t.Error("errors are told without epochs")
			}
			if epochs != nil {
				erptest.WantRows(t, text+" errors", got.SEM, want.SEM, 1e-9)
			}
			if got.Info.Reference != want.Info.Reference ||
				!slices.Contains(got.Info.Notes, "re-referenced after averaging") {
				t.Errorf("%s: reference %q, notes %q", text, got.Info.Reference, got.Info.Notes)
			}
		}
	}
	if a.Info.Notes != nil || a.SEM == nil {
		t.Error("the average was changed")
	}
}

func places(t *testing.T, names []layout.Name) []layout.Site {
	t.Helper()
	placed, err := layout.Place(head.Sphere(90), names)
	if err != nil {
		t.Fatal(err)
	}
	return layout.Sites(placed)
}

// Sites of the same cap come back as they are, and a smooth field seen by two
// caps is the same at common sites, to what the spline leaves of degree 2
// (relative 7e-4 in root mean square at 64 sites for the worst order: the
// package topo's table).
func TestOnto(t *testing.T) {
	field := func(s layout.Site) float64 {
		p := r3.Unit(s.Position)
		return 10*p.X*p.Z + 4*p.Y*p.Z - 3*p.X*p.Y
	}
	targets := places(t, layout.Set1020())
	for _, c := range []struct {
		name      string
		cap       []layout.Name
		tolerance float64 // µV
	}{
		{"the whole 10-10", layout.Set1010(), .02},
		{"every other of the 10-10", everyOther(layout.Set1010()), .4},
		{"its own sites", layout.Set1020(), 1e-9},
	} {
		own := places(t, c.cap)
		a := &average.Average{Times: []float64{0, .01}, Info: average.Info{Kind: average.Participant}}
		for _, s := range own {
			a.Sites = append(a.Sites, s.Name)
			a.Mean = append(a.Mean, []float64{field(s), 2 * field(s)})
		}
		l, err := average.Onto(own, targets, topo.Options{Order: 4, Radius: 90})
		if err != nil {
			t.Fatal(err)
		}
		got, err := a.Through(l, nil)
		if err != nil {
			t.Fatal(err)
		}
		worst := 0.0
		for i, s := range targets {
			worst = max(worst, math.Abs(got.Mean[i][0]-field(s)), math.Abs(got.Mean[i][1]-2*field(s))/2)
		}
		t.Logf("%s: at most %.2g µV of 10 off", c.name, worst)
		if worst > c.tolerance {
			t.Errorf("%s: %v µV off, want %v at most", c.name, worst, c.tolerance)
		}
		if c.tolerance == 1e-9 && len(got.Info.Repaired) > 0 {
			t.Errorf("%s: %v count as interpolated", c.name, got.Info.Repaired)
		}
	}
}

func everyOther(names []layout.Name) []layout.Name {
	var out []layout.Name
	for i := 0; i < len(names); i += 2 {
		out = append(out, names[i])
	}
	return out
}

// A site beyond the electrodes' reach is named.
func TestOntoNamesExtrapolation(t *testing.T) {
	own := places(t, []layout.Name{"Fz", "C3", "Cz", "C4", "Pz", "P3", "P4", "F3", "F4"})
	l, err := average.Onto(own, places(t, []layout.Name{"CPz", "TP9"}), topo.Options{Order: 4, Radius: 90})
	if err != nil {
		t.Fatal(err)
	}
	if !strings.HasSuffix(l.Note, "extrapolated, farther from any electrode than these are from each other: TP9") ||
		!slices.Equal(l.Interpolated, []string{"CPz", "TP9"}) {
		t.Errorf("%q, %v", l.Note, l.Interpolated)
	}
}
