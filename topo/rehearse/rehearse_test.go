package rehearse_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"gonum.org/v1/gonum/stat"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo/inference"
	"calotte/topo/internal/erptest"
	"calotte/topo/rehearse"
)

// pool is people with epochs of two readings, each of a standard deviation of 8
// µV and a mean of some µV, which labels that mean nothing take away.
func pool(people, epochs int) []rehearse.Person {
	var out []rehearse.Person
	for k := range people {
		random := rand.New(rand.NewPCG(11, uint64(k)))
		p := rehearse.Person{Name: "synthetic", Epochs: make([][]float64, epochs)}
		for e := range p.Epochs {
			p.Epochs[e] = make([]float64, 2)
		}
		for j := range 2 {
			values := make([]float64, epochs)
			for e := range values {
				values[e] = random.NormFloat64()
			}
			mean, sd := stat.PopMeanStdDev(values, nil)
			for e, v := range values {
				p.Epochs[e][j] = 8*(v-mean)/sd + 5
			}
		}
		out = append(out, p)
	}
	return out
}

// Rehearsals find planted effects as often as the noncentral t says, false ones
// in 3.7 to 6.3 %, and their intervals hold the truth in 93 to 97 %.
func TestPower(t *testing.T) {
	var want struct {
		Power []struct {
			People, Epochs  int
			Between, Effect float64
			Power           float64
		}
		Wilson []struct {
			Found, All int
			Low, High  float64
		}
	}
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "rehearse", "power.json"))
	if err == nil {
		err = json.Unmarshal(text, &want)
	}
	if err != nil {
		t.Fatal(err)
	}
	const count = 2000
	for _, w := range want.Power {
		s := rehearse.Study{People: pool(12, 80), Effect: []float64{1, -.5}, Between: w.Between,
			Test: inference.Options{Arrangements: 1000, Seed: 1}}
		r, err := s.Rehearse(t.Context(), rehearse.Design{People: w.People, Epochs: w.Epochs}, count, 3)
		if err != nil {
			t.Fatal(err)
		}
		out, err := r.With(t.Context(), w.Effect)
		if err != nil {
			t.Fatal(err)
		}
		share := float64(out[0].Found) / count
		t.Logf("%d people, %d epochs, between %g, %g µV: found %.3f, by the noncentral t %.3f; covered %d and %d, "+
			"bias %.3f ± %.3f", w.People, w.Epochs, w.Between, w.Effect, share, w.Power, out[0].Covered,
			out[1].Covered, out[0].Bias, out[0].Error)
		// three standard errors, and what sign flips find less or more than t
		if off := 3*math.Sqrt(w.Power*(1-w.Power)/count) + .005; math.Abs(share-w.Power) > off ||
			w.Effect == 0 && (share < .037 || share > .063) {
			t.Errorf("%+v: found in %g", w, share)
		}
		for j, o := range out {
			if o.Covered < .93*count || o.Covered > .97*count {
				t.Errorf("%+v, reading %d: the interval held %d of %d", w, j, o.Covered, count)
			}
			if math.Abs(o.Bias) > 3*o.Error/math.Sqrt(count) {
				t.Errorf("%+v, reading %d: off by %g, with an error of %g", w, j, o.Bias, o.Error)
			}
		}
	}
	for _, w := range want.Wilson {
		low, high := inference.Wilson(w.Found, w.All, .95)
		if !erptest.Near(low, w.Low, 1e-9) || !erptest.Near(high, w.High, 1e-9) {
			t.Errorf("%d of %d: %g to %g, want %g to %g", w.Found, w.All, low, high, w.Low, w.High)
		}
	}
}

// The smallest effect that is found is just found, and the same seed gives the
// same rehearsals on any number of processors.
func TestSmallest(t *testing.T) {
	s := rehearse.Study{People: pool(12, 80), Effect: []float64{1, -.5},
		Test: inference.Options{Arrangements: 500, Seed: 1}}
	find := func() (float64, []rehearse.Outcome) {
		r, err := s.Rehearse(t.Context(), rehearse.Design{People: 20, Epochs: 40}, 300, 3)
		if err != nil {
			t.Fatal(err)
		}
		size, err := r.Smallest(t.Context(), .8)
		if err != nil {
			t.Fatal(err)
		}
		out, err := r.With(t.Context(), size)
		if err != nil {
			t.Fatal(err)
		}
		less, err := r.With(t.Context(), size-.02)
		if err != nil || less[0].Found >= 240 {
			t.Errorf("%g µV less 0.02 is found in %d of 300, %v", size, less[0].Found, err)
		}
		return size, out
	}
	size, out := find()
	if out[0].Found < 240 || size < .9 || size > 1.5 {
		t.Errorf("%g µV is found in %d of 300", size, out[0].Found)
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	if again, same := find(); again != size || same[1] != out[1] {
		t.Errorf("%g µV and %+v on one processor, %g and %+v on all", again, same, size, out)
	}
}

func TestRehearseRefuses(t *testing.T) {
	good := pool(3, 4)
	broken := pool(3, 4)
	broken[1].Epochs[2][0] = math.NaN()
	one := rehearse.Design{People: 4, Epochs: 3}
	for want, c := range map[string]struct {
		people []rehearse.Person
		effect []float64
		sd     float64
		design rehearse.Design
	}{
		"nobody's":                         {nil, []float64{1, 1}, 0, one},
		"1 people and 3 epochs":            {good, []float64{1, 1}, 0, rehearse.Design{People: 1, Epochs: 3}},
		"4 people and 0 epochs":            {good, []float64{1, 1}, 0, rehearse.Design{People: 4}},
		"epochs of 2 readings":             {good, []float64{1}, 0, one},
		"differ by -1 µV":                  {good, []float64{1, 1}, -1, one},
		"differ by NaN µV":                 {good, []float64{1, 1}, math.NaN(), one},
		"the value NaN: expected a number": {broken, []float64{1, 1}, 0, one},
		"has 1 epochs": {append(good[:1:1], rehearse.Person{Name: "x", Epochs: good[0].Epochs[:1]}),
			[]float64{1, 1}, 0, one},
	} {
		_, err := rehearse.Study{People: c.people, Effect: c.effect, Between: c.sd}.Rehearse(t.Context(), c.design, 5, 1)
		erptest.WantError(t, err, want)
	}
}

func BenchmarkRehearse(b *testing.B) {
	s := rehearse.Study{People: pool(24, 120), Effect: []float64{1, -.5},
		Test: inference.Options{Arrangements: 1000, Seed: 1}}
	for b.Loop() {
		r, err := s.Rehearse(b.Context(), rehearse.Design{People: 24, Epochs: 60}, 1000, 3)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := r.Smallest(b.Context(), .8); err != nil {
			b.Fatal(err)
		}
	}
}

// A source beneath a site gives 1 µV there, less everywhere else, and nothing
// to the mean of all sites.
func TestBeneath(t *testing.T) {
	surface, err := head.Default().Surface()
	if err != nil {
		t.Fatal(err)
	}
	sites, err := layout.SitesOn(surface, []string{"P7", "P8", "Pz", "Fz", "Oz", "C3", "C4", "O1", "O2", "T8"})
	if err != nil {
		t.Fatal(err)
	}
	for _, averaged := range []bool{true, false} {
		values, err := rehearse.Beneath(sites, 1, averaged)
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.
		for i, v := range values {
			sum += v
			if i != 1 && (v >= 1 || v <= -1) {
				t.Errorf("averaged %v: %s has %g", averaged, sites[i].Name, v)
			}
		}
		if values[1] != 1 || averaged && math.Abs(sum) > 1e-12 || !averaged && math.Abs(sum) < .1 {
			t.Errorf("averaged %v: %v", averaged, values)
		}
	}
	if _, err := rehearse.Beneath(sites, 10, true); err == nil {
		t.Error("a site that is not there")
	}
}
