package epoch

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"calotte/layout"
	"calotte/topo"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/internal/erptest"
	"calotte/topo/unit"
)

// The kept epochs average to the accumulator's numbers, to the last bit, in one
// recording and merged; rejected ones do not count.
func TestEpochsAverageAsTheAccumulator(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		const sites, samples = 3, 5
		w := Window{-1, samples - 2, 100}
		a, first, second := NewAccumulator(sites, samples), NewCollection([]string{"Fz", "Cz", "Pz"}, w),
			NewCollection([]string{"Fz", "Cz", "Pz"}, w)
		epoch := matrix.New(sites+1, samples) // reused, as a pipeline does
		for k := range rapid.IntRange(0, 20).Draw(t, "epochs") {
			for i := range epoch {
				for s := range epoch[i] {
					epoch[i][s] = 1e4 + 20*rng.NormFloat64()
				}
			}
			row := Row{Onset: float64(k), Kept: rng.IntN(4) > 0}
			into := first
			if k > 8 {
				into = second
			}
			into.Add(row, epoch)
			if row.Kept {
				a.Add(epoch[:sites])
			}
		}
		total := len(first.Rows) + len(second.Rows)
		if err := first.Merge(second); err != nil {
			t.Fatal(err)
		}
		got := first.Accumulate()
		if got.N() != a.N() || first.Len() != a.N() || len(first.Rows) != total {
			t.Fatalf("%d of %d epochs, want %d of %d", first.Len(), len(first.Rows), a.N(), total)
		}
		for i := range sites {
			if !slices.Equal(got.Mean()[i], a.Mean()[i]) ||
				a.N() > 1 && !slices.Equal(got.SEM()[i], a.SEM()[i]) {
				t.Fatalf("site %d: %v ± %v, want %v ± %v", i, got.Mean()[i], got.SEM(), a.Mean()[i],
					a.SEM())
			}
		}
		for k := range first.Len() {
			if _, row := first.At(k); !row.Kept {
				t.Fatalf("epoch %d has the row of a rejected one: %+v", k, row)
			}
		}
	})
}

func TestPickAndSameNumber(t *testing.T) {
	var data [][][]float64
	for k := range 9 {
		data = append(data, [][]float64{{float64(k), 0}})
	}
	e := collected(data)
	counts := []int{9, 5, 7}
	picks := SameNumber(counts, 3)
	for i, p := range picks {
		if len(p) != 5 || !slices.IsSorted(p) || len(slices.Compact(slices.Clone(p))) != 5 ||
			p[4] >= counts[i] {
			t.Errorf("condition %d: %v", i, p)
		}
	}
	if !slices.Equal(picks[1], []int{0, 1, 2, 3, 4}) {
		t.Errorf("the smallest lost epochs: %v", picks[1])
	}
	if again := SameNumber(counts, 3); !slices.EqualFunc(picks, again, slices.Equal) {
		t.Error("the same seed drew others")
	}
	if alike := SameNumber([]int{50, 50, 20}, 3); slices.Equal(alike[0], alike[1]) {
		t.Error("two conditions drew the same epochs")
	}
	picked, err := e.Pick(picks[0])
	if err != nil {
		t.Fatal(err)
	}
	want := 0.0
	for k, i := range picks[0] {
		want += float64(i) / 5
		if x, row := picked.At(k); x[0][0] != float64(i) || row.Onset != float64(i) {
			t.Errorf("epoch %d is not %d", k, i)
		}
	}
	if got := picked.Accumulate().Mean()[0][0]; !erptest.Near(got, want, 1e-12) {
		t.Errorf("mean %v, want %v", got, want)
	}
	for _, wrong := range [][]int{{9}, {-1}, {2, 1}, {3, 3}} {
		_, err := e.Pick(wrong)
		erptest.WantError(t, err, "increasing indexes")
	}
}

// Every epoch is drawn equally often: 4 of 8, 4,000 times; 2,000 each within 4
// standard deviations of a binomial's.
func TestSameNumberIsFair(t *testing.T) {
	counts := make([]int, 8)
	for seed := range uint64(4000) {
		for _, k := range SameNumber([]int{8, 4}, seed)[0] {
			counts[k]++
		}
	}
	for k, n := range counts {
		if math.Abs(float64(n)-2000) > 4*math.Sqrt(1000) {
			t.Errorf("epoch %d was drawn %d times of 4000", k, n)
		}
	}
}

func TestUnequalWarning(t *testing.T) {
	names := []string{"known", "novel", "rare"}
	for _, c := range []struct {
		counts []int
		want   string
	}{
		{[]int{100, 95, 91}, ""}, {[]int{110, 100, 100}, ""}, {nil, ""}, {[]int{50}, ""},
		{[]int{111, 105, 100}, "known has 111 epochs, rare 100: "},
		{[]int{80, 95, 20}, "novel has 95 epochs, rare 20: "},
		{[]int{5, 0}, "known has 5 epochs, novel 0: "},
	} {
		got := UnequalWarning(names, c.counts)
		if (got == "") != (c.want == "") || !strings.HasPrefix(got, c.want) {
			t.Errorf("%v: %q, want %q", c.counts, got, c.want)
		}
	}
}

// The covariance's diagonal is the squared standard error; and the variance of
// a map from it is that of projecting every epoch.
func TestMeanCovarianceGivesTheErrorOfAMap(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	sites := erptest.Placed(t, layout.Set1020())
	var names []string
	for _, s := range sites {
		names = append(names, s.Name)
	}
	e := NewCollection(names, Window{0, 2, 250})
	for range 30 {
		x := matrix.New(len(sites), 3)
		common := rng.NormFloat64()
		for i := range x {
			for k := range x[i] {
				x[i][k] = 5*common + 10*rng.NormFloat64()
			}
		}
		e.Add(Row{Kept: true}, x)
	}
	scores, err := e.Scores(1, 2)
	if err != nil {
		t.Fatal(err)
	}
	covariance, err := MeanCovariance(scores)
	if err != nil {
		t.Fatal(err)
	}
	sem := e.Accumulate().SEM()
	for i := range sites {
		if got := math.Sqrt(covariance.At(i, i)); !erptest.Near(got, sem[i][1], 1e-12) {
			t.Errorf("site %d: %v, want %v", i, got, sem[i][1])
		}
	}
	spline, err := topo.New(sites, topo.Options{Radius: erptest.HeadRadius})
	if err != nil {
		t.Fatal(err)
	}
	point := erptest.Placed(t, []layout.Name{"CP3"})[0].Position
	weights, err := spline.Weights([]r3.Vec{point}, topo.Potential)
	if err != nil {
		t.Fatal(err)
	}
	variance, err := spline.Variance([]r3.Vec{point}, topo.Potential, covariance)
	if err != nil {
		t.Fatal(err)
	}
	var projected []float64
	for _, row := range scores {
		v := 0.0
		for i, x := range row {
			v += weights.At(0, i) * x
		}
		projected = append(projected, v)
	}
	if sme, err := SME(projected); err != nil || !erptest.Near(math.Sqrt(variance[0]), sme, 1e-10) {
		t.Errorf("error at CP3 %v, projecting each epoch %v (%v)", math.Sqrt(variance[0]), sme, err)
	}
}

func TestEpochsRefusals(t *testing.T) {
	e := collected([][][]float64{{{1, 2, 3}}})
	for _, r := range [][2]int{{-1, 2}, {0, 4}, {2, 2}} {
		_, err := e.Scores(r[0], r[1])
		erptest.WantError(t, err, "choose some inside")
	}
	if got, err := e.WindowScores(unit.Span{From: 0.002, To: 0.004}); err != nil || got[0][0] != 2.5 {
		t.Errorf("%v, %v, want the mean of samples 1 and 2", got, err)
	}
	_, err := e.WindowScores(unit.Span{From: 0, To: 1})
	erptest.WantError(t, err, "outside the epoch")
	erptest.WantError(t, e.Merge(collected([][][]float64{{{1, 2}}})), "cannot be joined")
	if e.Len() != 1 {
		t.Error("an epoch was added all the same")
	}
}

// An epoch that is kept is a copy: what its memory holds later does not matter.
func TestEpochsKeepCopies(t *testing.T) {
	x := [][]float64{{1, 2}}
	e := collected([][][]float64{x})
	x[0][0] = 99
	if got, _ := e.At(0); got[0][0] != 1 {
		t.Errorf("%v", got)
	}
}
