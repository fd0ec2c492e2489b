package inference_test

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/mat"

	"calotte/topo/inference"
)

func matrix(rows ...[]float64) *mat.Dense {
	m := mat.NewDense(len(rows), len(rows[0]), nil)
	for i, r := range rows {
		m.SetRow(i, r)
	}
	return m
}

func near(t *testing.T, what string, got, want []float64, tolerance float64) {
	t.Helper()
	for i := range want {
		if len(got) != len(want) || math.Abs(got[i]-want[i]) > tolerance {
			t.Errorf("%s: %v, want %v", what, got, want)
			return
		}
	}
}

func TestAgainstScipy(t *testing.T) {
	r := readReference(t)
	o := inference.Options{Arrangements: 1000}
	paired, err := inference.Paired(6)
	if err != nil {
		t.Fatal(err)
	}
	got, err := inference.TestLargest(t.Context(), paired, matrix(r.Paired.Data...), o)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "paired t", got.T, r.Paired.T, 1e-10)
	near(t, "paired p", got.P, r.Paired.P, 1e-12)
	near(t, "corrected p", got.Corrected, r.Paired.Corrected, 1e-12)
	width, err := inference.Simultaneous(t.Context(), paired, matrix(r.Paired.Data...), .95, o)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "simultaneous", []float64{width}, []float64{r.Paired.Simultaneous}, 1e-10)
	if width, err = inference.Simultaneous(t.Context(), paired, matrix(r.Paired.Data...), .99, o); err != nil ||
		!math.IsInf(width, 1) {
		t.Errorf("64 flips give a width of %g at a level of 0.99, %v", width, err)
	}
	joint, err := inference.TestJoint(t.Context(), paired, matrix(r.Paired.Data...), .1, o)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "joint", []float64{joint.Median, joint.MedianP, joint.Share, joint.ShareP}, r.Paired.Joint, 1e-12)
	if p := paired.SmallestP(o); p != 2./64 {
		t.Errorf("the smallest p of six people is %g, want 2/64", p)
	}

	groups, err := inference.Groups(4, 5)
	if err != nil {
		t.Fatal(err)
	}
	got, err = inference.TestLargest(t.Context(), groups,
		matrix(append(slices.Clone(r.Groups.First), r.Groups.Second...)...), o)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "group t", got.T, r.Groups.T, 1e-10)
	near(t, "group p", got.P, r.Groups.P, 1e-12)

	mean := func(x []float64) float64 {
		sum := 0.
		for _, v := range x {
			sum += v
		}
		return sum / float64(len(x))
	}
	low, high, err := inference.BCa(r.BCa.Values, mean, r.BCa.Draws, .95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "BCa on one matrix of draws", []float64{low, high}, r.BCa.Ends, 1e-12)
	near(t, "BCa beside scipy's own draws", []float64{low, high}, r.BCa.Scipy, .15)
	near(t, "false discovery", inference.FalseDiscovery(r.FDR.P), r.FDR.Adjusted, 1e-14)
}

// By hand: six differences of one sign are the most extreme of 64 arrangements,
// beside their mirror image; n = 3 with one of the other sign and the least
// size ties with none.
func TestEnumerationByHand(t *testing.T) {
	d, _ := inference.Paired(6)
	got, err := inference.TestLargest(t.Context(), d,
		matrix([]float64{1}, []float64{2}, []float64{3}, []float64{4}, []float64{5}, []float64{6}),
		inference.Options{Arrangements: 64})
	if err != nil || got.P[0] != 2./64 {
		t.Errorf("%+v, %v, want 2/64", got, err)
	}
	d, _ = inference.Paired(3)
	got, err = inference.TestLargest(t.Context(), d, matrix([]float64{-1}, []float64{2}, []float64{3}),
		inference.Options{Arrangements: 8})
	if err != nil || got.P[0] != 4./8 { // ±(1,2,3) and ±(−1,2,3) are at least as far from zero
		t.Errorf("%+v, %v, want 4/8", got, err)
	}
}

// Where all differences are the same t is infinite, and so it is in the mirror
// image: p is 2 of 16 all the same.
func TestInfiniteStatistics(t *testing.T) {
	d, err := inference.Paired(4)
	if err != nil {
		t.Fatal(err)
	}
	data, o := matrix([]float64{2}, []float64{2}, []float64{2}, []float64{2}), inference.Options{Arrangements: 16}
	largest, err := inference.TestLargest(t.Context(), d, data, o)
	if err != nil {
		t.Fatal(err)
	}
	clusters, err := inference.TestClusters(t.Context(), d, data, [][]int{nil}, .05, o)
	if err != nil {
		t.Fatal(err)
	}
	for name, p := range map[string]float64{"single": largest.P[0], "corrected": largest.Corrected[0],
		"cluster": clusters.Clusters[0].P} {
		if p != 2./16 {
			t.Errorf("%s: p is %g, want 2/16", name, p)
		}
	}
}

// Sampled p are near the exact ones, and the same for any number of processors.
func TestSampledArrangements(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	data := mat.NewDense(10, 5, nil)
	data.Apply(func(_, j int, _ float64) float64 { return random.NormFloat64() + .3*float64(j) }, data)
	for _, d := range designs(t, 10) {
		exact, err := inference.TestLargest(t.Context(), d, data, inference.Options{Arrangements: 2000})
		if err != nil {
			t.Fatal(err)
		}
		o := inference.Options{Arrangements: 200, Seed: 7}
		old := runtime.GOMAXPROCS(1)
		one, err := inference.TestLargest(t.Context(), d, data, o)
		runtime.GOMAXPROCS(4)
		many, err2 := inference.TestLargest(t.Context(), d, data, o)
		runtime.GOMAXPROCS(old)
		if err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
		near(t, "with four processors", many.Corrected, one.Corrected, 0)
		for j, p := range exact.P {
			if sd := math.Sqrt(p * (1 - p) / 200); math.Abs(one.P[j]-p) > 4*sd+.01 {
				t.Errorf("point %d: sampled %.3f, exact %.3f", j, one.P[j], p)
			}
		}
	}
}

// Clusters by hand: three sites in a line, five samples, with t as in the
// picture.
func TestClustersByHand(t *testing.T) {
	// Two people whose mean and spread give the wanted t: with n = 2,
	// values m±1 have t = m.
	want := []float64{
		20, 20, 0, 0, -30,
		0, 20, 0, 0, -30,
		0, 0, 0, 20, 0,
	}
	a, b := make([]float64, 15), make([]float64, 15)
	for i, m := range want {
		if m == 0 {
			m = .1 // with one sign flipped t is 10, below the threshold
		}
		a[i], b[i] = m+1, m-1
	}
	d, _ := inference.Paired(2)
	got, err := inference.TestClusters(t.Context(), d, matrix(a, b), [][]int{{1}, {0, 2}, {1}}, .05,
		inference.Options{Arrangements: 10})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(got.Threshold-12.706204736) > 1e-6 { // t of one degree of freedom, any handbook: 12.706
		t.Errorf("threshold %g", got.Threshold)
	}
	points := [][]int{{0, 1, 6}, {4, 9}, {13}}
	masses := []float64{60, -60, 20}
	for k, c := range got.Clusters {
		if len(got.Clusters) != 3 || !slices.Equal(c.Points, points[k]) || math.Abs(c.Mass-masses[k]) > 1e-9 {
			t.Fatalf("%+v", got.Clusters)
		}
	}
	if got.Clusters[0].P != .5 { // of four arrangements the two mixed ones join nothing as large
		t.Errorf("p = %g, want 2/4", got.Clusters[0].P)
	}
}

// Points that hold are joined as clusters are, with the least p of each.
func TestGroup(t *testing.T) {
	values := []float64{3, 4, 1, 0, 5, -2} // two sites, three samples
	p := []float64{.04, .01, .5, .9, .03, .02}
	got, err := inference.Group(values, p, func(i int) bool { return p[i] <= .05 }, [][]int{{1}, {0}})
	if err != nil {
		t.Fatal(err)
	}
	for _, wrong := range [][][]int{nil, {{1}, {2}}, {{1}, {-1}}, {{}, {}, {}}} {
		if _, err := inference.Group(values[:4], p[:4], func(int) bool { return true }, wrong); err == nil {
			t.Errorf("neighbours %v are taken", wrong)
		}
	}
	for _, draws := range [][][]int{{{0, 1, 2}, {0, 1}}, {{0, 1, 2}, {0, 1, 3}}, {{0, 1, 2}, {0, -1, 2}}} {
		_, _, err := inference.BCa([]float64{1, 2, 4}, func(v []float64) float64 { return v[0] }, draws, .95)
		if err == nil {
			t.Errorf("draws %v are taken", draws)
		}
	}
	if len(got) != 2 || !slices.Equal(got[0].Points, []int{0, 1, 4}) || got[0].P != .01 || got[0].Mass != 12 ||
		!slices.Equal(got[1].Points, []int{5}) {
		t.Errorf("%+v", got)
	}
}

func TestIntervals(t *testing.T) {
	low, high, err := inference.TInterval([]float64{1, 2, 3, 4, 5}, .95)
	if err != nil { // t(4) = 2.776445 in any handbook; the error is 0.7071068
		t.Fatal(err)
	}
	near(t, "t interval", []float64{low, high}, []float64{3 - 2.776445105*.70710678, 3 + 2.776445105*.70710678},
		1e-7)
	if _, _, err := inference.TInterval([]float64{1}, .95); err == nil {
		t.Error("an interval of one value")
	}
	if _, _, err := inference.BCa([]float64{1, 2}, func([]float64) float64 { return 0 }, nil, .95); err == nil {
		t.Error("an interval without draws")
	}
}

func TestRefusals(t *testing.T) {
	if _, err := inference.Paired(1); err == nil {
		t.Error("one person")
	}
	if _, err := inference.Groups(1, 5); err == nil {
		t.Error("a group of one")
	}
	d, _ := inference.Paired(3)
	for name, data := range map[string]*mat.Dense{
		"other people": matrix([]float64{1}, []float64{2}),
		"NaN":          matrix([]float64{1}, []float64{2}, []float64{math.NaN()}),
	} {
		if _, err := inference.TestLargest(t.Context(), d, data,
			inference.Options{Arrangements: 10}); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	good, neighbours := matrix([]float64{1}, []float64{2}, []float64{3}), [][]int{nil}
	for _, o := range []inference.Options{{}, {Arrangements: -1, Seed: 1}} {
		_, largest := inference.TestLargest(t.Context(), d, good, o)
		_, clusters := inference.TestClusters(t.Context(), d, good, neighbours, .05, o)
		for _, err := range []error{largest, clusters} {
			if err == nil || !strings.Contains(err.Error(), "expected 1 or more, such as 5000") {
				t.Errorf("%+v: %v, want a refusal that says how many", o, err)
			}
		}
	}
}

// A test over 200 people, 64 sites and 2,500 samples, of which all arrangements
// would take minutes, ends within 100 ms of its context: the fastest of five,
// since others use the machine, too.
func TestStopsWithItsContext(t *testing.T) {
	const people, sites, samples = 200, 64, 2500
	data := mat.NewDense(people, sites*samples, nil)
	random := rand.New(rand.NewPCG(1, 2))
	for i := range people {
		for j := range data.RawRowView(i) {
			data.RawRowView(i)[j] = random.NormFloat64()
		}
	}
	d, err := inference.Paired(people)
	if err != nil {
		t.Fatal(err)
	}
	neighbours := make([][]int, sites)
	for i := range neighbours {
		neighbours[i] = []int{(i + 1) % sites, (i + sites - 1) % sites}
	}
	o := inference.Options{Arrangements: 5000, Seed: 1}
	for name, test := range map[string]func(context.Context) error{
		"largest": func(ctx context.Context) error {
			_, err := inference.TestLargest(ctx, d, data,
				o)
			return err
		},
		"clusters": func(ctx context.Context) error {
			_, err := inference.TestClusters(ctx, d, data, neighbours, .05, o)
			return err
		},
	} {
		const limit = 100 * time.Millisecond
		late := time.Hour
		for try := 0; try < 5 && late > limit; try++ {
			ctx, cancel := context.WithCancel(t.Context())
			ended := make(chan time.Time, 1)
			time.AfterFunc(time.Second/2, func() { ended <- time.Now(); cancel() })
			err := test(ctx)
			if !errors.Is(err, context.Canceled) {
				t.Fatalf("%s: %v, want that it was cancelled", name, err)
			}
			late = min(late, time.Since(<-ended))
		}
		t.Logf("%s: %v after the end of its context", name, late)
		if late > limit {
			t.Errorf("%s: it ended %v after its context, want %v", name, late, limit)
		}
	}
}

// noise is that of 30 people at 64 sites and 500 samples.
func noise(b *testing.B) (inference.Design, *mat.Dense, [][]int) {
	b.Helper()
	const people, sites, samples = 30, 64, 500
	random := rand.New(rand.NewPCG(1, 2))
	data := mat.NewDense(people, sites*samples, nil)
	data.Apply(func(int, int, float64) float64 { return random.NormFloat64() }, data)
	neighbours := make([][]int, sites)
	for i := range neighbours {
		for _, k := range []int{1, 8} {
			neighbours[i] = append(neighbours[i], (i+k)%sites, (i+sites-k)%sites)
		}
	}
	d, err := inference.Paired(people)
	if err != nil {
		b.Fatal(err)
	}
	return d, data, neighbours
}

func BenchmarkClusters(b *testing.B) {
	d, data, neighbours := noise(b)
	for b.Loop() {
		if _, err := inference.TestClusters(b.Context(), d, data, neighbours, .05,
			inference.Options{Arrangements: 5000, Seed: 1}); err != nil {
			b.Fatal(err)
		}
	}
}

// What was not tested does not count among the tests.
func TestFalseDiscoveryOfNone(t *testing.T) {
	got := inference.FalseDiscovery([]float64{.01, math.NaN(), .02})
	if got[0] != .02 || !math.IsNaN(got[1]) || got[2] != .02 {
		t.Errorf("%v", got)
	}
}
