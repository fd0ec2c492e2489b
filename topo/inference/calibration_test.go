package inference_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"calotte/topo/inference"
)

func designs(t *testing.T, n int) []inference.Design {
	t.Helper()
	paired, err := inference.Paired(n)
	if err != nil {
		t.Fatal(err)
	}
	groups, err := inference.Groups(n/2-1, n-n/2+1)
	if err != nil {
		t.Fatal(err)
	}
	return []inference.Design{paired, groups}
}

// Under the null hypothesis each test errs as often as it says: over 2,000
// sets, .05 within what so many leave uncertain (.04 to .06).
func TestFalsePositives(t *testing.T) {
	const sets, people, sites, samples = 2000, 12, 6, 8
	ring := make([][]int, sites)
	for i := range ring {
		ring[i] = []int{(i + 1) % sites, (i + sites - 1) % sites}
	}
	o := inference.Options{Arrangements: 199, Seed: 3}
	for k, d := range designs(t, people) {
		single, largest, clusters, enhanced := 0, 0, 0, 0
		for set := range sets {
			random := rand.New(rand.NewPCG(uint64(k), uint64(set)))
			data := mat.NewDense(people, sites*samples, nil)
			for i := range people { // noise that is smooth in time
				row := data.RawRowView(i)
				for j := range row {
					row[j] = random.NormFloat64()
					if j%samples > 0 {
						row[j] += .7 * row[j-1]
					}
				}
			}
			test, err := inference.TestLargest(t.Context(), d, data, o)
			if err != nil {
				t.Fatal(err)
			}
			joined, err := inference.TestClusters(t.Context(), d, data, ring, .05, o)
			if err != nil {
				t.Fatal(err)
			}
			if test.P[5] <= .05 {
				single++
			}
			if slices.Min(test.Corrected) <= .05 {
				largest++
			}
			if len(joined.Clusters) > 0 && slices.ContainsFunc(joined.Clusters,
				func(c inference.Cluster) bool { return c.P <= .05 }) {
				clusters++
			}
			raised, err := inference.TestEnhanced(t.Context(), d, data, ring, o)
			if err != nil {
				t.Fatal(err)
			}
			if slices.Min(raised.Corrected) <= .05 {
				enhanced++
			}
		}
		for name, n := range map[string]int{"a point": single, "the largest": largest, "clusters": clusters,
			"enhanced": enhanced} {
			rate := float64(n) / sets
			t.Logf("design %d, %s: %.4f", k, name, rate)
			if rate < .04 || rate > .06 {
				t.Errorf("design %d, %s: %.4f of null sets are significant", k, name, rate)
			}
		}
	}
}

// What is planted is found about as often as theory says: a mean of one
// standard deviation in 12 people has a power of .883 for a t test of one point
// at .05 (the noncentral t of scipy.stats.nct: 1 − cdf(2.201, 11, √12) +
// cdf(−2.201, 11, √12)), and clusters over neighbours that share it find it
// too.
func TestPower(t *testing.T) {
	const sets, people, sites, samples = 400, 12, 6, 8
	ring := make([][]int, sites)
	for i := range ring {
		ring[i] = []int{(i + 1) % sites, (i + sites - 1) % sites}
	}
	d, err := inference.Paired(people)
	if err != nil {
		t.Fatal(err)
	}
	o := inference.Options{Arrangements: 499, Seed: 3}
	single, clusters := 0, 0
	for set := range sets {
		random := rand.New(rand.NewPCG(8, uint64(set)))
		data := mat.NewDense(people, sites*samples, nil)
		data.Apply(func(_, j int, _ float64) float64 {
			v := random.NormFloat64()
			if site, sample := j/samples, j%samples; site < 3 && sample > 1 && sample < 6 {
				v++
			}
			return v
		}, data)
		test, err := inference.TestLargest(t.Context(), d, data, o)
		if err != nil {
			t.Fatal(err)
		}
		if test.P[samples+3] <= .05 {
			single++
		}
		joined, err := inference.TestClusters(t.Context(), d, data, ring, .05, o)
		if err != nil {
			t.Fatal(err)
		}
		if len(joined.Clusters) > 0 && joined.Clusters[0].P <= .05 && slices.Contains(joined.Clusters[0].Points,
			samples+3) {
			clusters++
		}
	}
	a, b := float64(single)/sets, float64(clusters)/sets
	t.Logf("power: a point %.3f, clusters %.3f", a, b)
	if math.Abs(a-.883) > .045 || b < .84 {
		t.Errorf("power: a point %.3f, clusters %.3f", a, b)
	}
}

// Intervals of normal data cover what they say, and BCa of few values less, as
// documented: over 2,000 sets, within what so many leave uncertain.
func TestCoverage(t *testing.T) {
	const sets, draws = 2000, 999
	mean := func(x []float64) float64 { return stat.Mean(x, nil) }
	for _, c := range []struct {
		n             int
		student, boot float64
	}{{6, .95, .86}, {10, .95, .90}, {20, .95, .93}} {
		student, boot := 0, 0
		for set := range sets {
			random := rand.New(rand.NewPCG(uint64(c.n), uint64(set)))
			values, matrix := make([]float64, c.n), make([][]int, draws)
			for i := range values {
				values[i] = random.NormFloat64()
			}
			for b := range matrix {
				matrix[b] = make([]int, c.n)
				for i := range matrix[b] {
					matrix[b][i] = random.IntN(c.n)
				}
			}
			low, high, err := inference.TInterval(values, .95)
			if err != nil {
				t.Fatal(err)
			}
			if low <= 0 && 0 <= high {
				student++
			}
			if low, high, err = inference.BCa(values, mean, matrix, .95); err != nil {
				t.Fatal(err)
			}
			if low <= 0 && 0 <= high {
				boot++
			}
		}
		a, b := float64(student)/sets, float64(boot)/sets
		t.Logf("n = %d: t covers %.3f, BCa %.3f", c.n, a, b)
		if math.Abs(a-c.student) > .015 || math.Abs(b-c.boot) > .025 {
			t.Errorf("n = %d: t covers %.3f, BCa %.3f, want %.2f and %.2f", c.n, a, b, c.student, c.boot)
		}
	}
}
