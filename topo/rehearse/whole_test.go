package rehearse_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"calotte/topo/contrast"
	"calotte/topo/erp/average"
	"calotte/topo/inference"
	"calotte/topo/internal/erptest"
	"calotte/topo/rehearse"
)

var wholeSites = []string{"P7", "P8", "Pz", "Cz", "O1", "O2"}

// epochs are so many of noise of 5 µV, at wholeSites and 20 samples at 100 Hz.
func epochs(seed uint64, count int) []*average.Average {
	var out []*average.Average
	for e := range count {
		random := rand.New(rand.NewPCG(seed, uint64(e)))
		a := &average.Average{Sites: wholeSites, Info: average.Info{Name: "sub-01"}}
		for k := range 20 {
			a.Times = append(a.Times, float64(k)/100)
		}
		for range wholeSites {
			row := make([]float64, 20)
			for k := range row {
				row[k] = 5 * random.NormFloat64()
			}
			a.Mean = append(a.Mean, row)
		}
		out = append(out, a)
	}
	return out
}

func newWhole(t *testing.T) *rehearse.Whole {
	t.Helper()
	w := &rehearse.Whole{Sites: wholeSites, Map: []float64{-.2, 1, .1, 0, -.2, .4}}
	for k := 5; k < 15; k++ {
		w.Times = append(w.Times, float64(k)/100)
	}
	w.Course = rehearse.Bump(w.Times, .08, .12)
	for person := range uint64(6) {
		if err := w.Take(epochs(person, 40)); err != nil {
			t.Fatal(err)
		}
	}
	return w
}

// A test over sites and samples finds a large effect always, a small one now and
// then, and what is not there in about one of twenty rehearsals.
func TestWhole(t *testing.T) {
	w := newWhole(t)
	test := contrast.Comparison{Correct: contrast.ByLargest, Test: inference.Options{Arrangements: 200, Seed: 1}}
	find := func(size float64, count int) int {
		n, err := w.Find(t.Context(), rehearse.Design{People: 12, Epochs: 30}, size, count, 5, test)
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	none, small, large := find(0, 400), find(1.2, 100), find(6, 20)
	t.Logf("found without an effect %d of 400, 1.2 µV %d of 100, 6 µV %d of 20", none, small, large)
	if none < 6 || none > 36 || small < 20 || small > 95 || large != 20 {
		t.Errorf("found %d of 400, %d of 100, %d of 20", none, small, large)
	}
	if again := find(1.2, 100); again != small {
		t.Errorf("again %d, not %d", again, small)
	}
	if _, err := w.Find(t.Context(), rehearse.Design{People: 1, Epochs: 3}, 0, 1, 1, test); err == nil {
		t.Error("one person is no error")
	}
}

func TestWholeTakes(t *testing.T) {
	w := newWhole(t)
	other := epochs(1, 3)
	other[2].Sites = slices.Clone(wholeSites)
	other[2].Sites[0] = "T7"
	late := epochs(1, 3)
	for _, e := range late {
		for k := range e.Times {
			e.Times[k] += .1
		}
	}
	for want, units := range map[string][]*average.Average{
		"has other sites": other, "has other samples": late, "has 1 epochs": epochs(1, 1),
	} {
		erptest.WantError(t, w.Take(units), want)
	}
	if len(w.People) != 6 {
		t.Errorf("%d people after errors", len(w.People))
	}
}

// The mean of a bump over its window is one, and it ends half a width outside.
func TestBump(t *testing.T) {
	var times []float64
	for k := range 200 {
		times = append(times, float64(k)/500)
	}
	course := rehearse.Bump(times, .15, .19)
	sum, n := 0., 0
	for k, at := range times {
		if at >= .15-1e-9 && at <= .19+1e-9 {
			sum, n = sum+course[k], n+1
		}
		if (at <= .13 || at >= .21) && course[k] > 1e-12 {
			t.Errorf("%g at %g s", course[k], at)
		}
	}
	if math.Abs(sum/float64(n)-1) > 1e-12 {
		t.Errorf("the mean over the window is %g", sum/float64(n))
	}
}
