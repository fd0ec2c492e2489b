package topo_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"calotte/topo"
)

// misses are how far a spline through some sites is from what is at others, in
// units of the half width of the interval: with readings, of what an electrode
// shows, else of the field itself.
func misses(tb testing.TB, seen, unseen field, o topo.Options, readings bool) (z []float64, freedom int) {
	tb.Helper()
	spline, c := seen.spline(tb, o)
	rough, err := spline.Roughness(seen.values)
	if err != nil {
		tb.Fatal(err)
	}
	at := unseen.positions()
	ignorance, err := spline.Ignorance(at)
	if err != nil {
		tb.Fatal(err)
	}
	v := spline.Interpolate(at, topo.Potential, c)
	for i := range at {
		for j, variance := range rough.Variances {
			e := ignorance[i].Against(variance, rough.Nugget)
			if readings {
				e = ignorance[i].AgainstReading(variance, rough.Nugget)
			}
			z = append(z, math.Abs(v.At(i, j)-unseen.values.At(i, j))/e)
		}
	}
	return z, rough.Freedom
}

// covered counts the places within their intervals.
func covered(z []float64, freedom int, level float64) tally {
	limit := distuv.StudentsT{Sigma: 1, Nu: float64(freedom)}.Quantile((1 + level) / 2)
	var t tally
	for _, v := range z {
		t.count(v <= limit)
	}
	return t
}

func checkCoverage(t *testing.T, what string, c tally, least, most float64) {
	t.Helper()
	t.Logf("%s: %.4f of %d", what, c.share(), c.of)
	if share := c.share(); share < least || share > most {
		t.Errorf("%s: 95 %% intervals cover %.4f of %d, want %g to %g", what, share, c.of, least, most)
	}
}

// knownSets are those for electrodes that are left out: each alone with 63, and
// by lot with fewer.
func knownSets(random *rand.Rand, known, draws int) [][]int {
	var sets [][]int
	if known == 63 {
		for i := range 64 {
			sets = append(sets, append(upTo(i), upTo(64)[i+1:]...))
		}
		return sets
	}
	for range draws {
		sets = append(sets, some(random, 64, known))
	}
	return sets
}

func upTo(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

// Each electrode is left out (63 known), and 32 and 19 are drawn by lot twelve
// times, of three averages with 41 latencies. Found, with splines of order 4:
// .951 of 7,872 with 63 known, .941 of 47,232 with 32, .943 of 66,420 with 19;
// with 32, order 3 .939, and order 4 with smoothing .943. Other lots gave .925
// to .941 with 32 and .943 to .958 with 19. Where the nugget does not settle,
// as in four of ten fits on 32, .91 are covered, and .94 where it does.
func TestCoverageOfOpenRecordings(t *testing.T) {
	for _, c := range []struct {
		known int
		o     topo.Options
	}{{63, topo.Options{}}, {32, topo.Options{}}, {19, topo.Options{}}, {32, topo.Options{Order: 3}},
		{32, topo.Options{Smoothing: 1e-4}}} {
		z, freedom := openMisses(t, c.known, c.o)
		checkCoverage(t, fmt.Sprintf("%d known, %+v", c.known, c.o), covered(z, freedom, .95), .92, .98)
	}
}

// openMisses are the misses of the open recordings' averages.
func openMisses(tb testing.TB, known int, o topo.Options) (z []float64, freedom int) {
	tb.Helper()
	random := rand.New(rand.NewPCG(1, uint64(known)))
	for _, set := range knownSets(random, known, 12) {
		for _, f := range openAverages(tb) {
			seen, unseen := f.split(set)
			more, n := misses(tb, seen, unseen, o, true)
			z, freedom = append(z, more...), n
		}
	}
	return z, freedom
}

// Sheets of ten latencies, drawn from k₂ with σ = 10 µV. Found, with noise of
// .3 and of 2 µV: .963 and .956 of 1,500 with 63 known, .956 and .954 of 19,200
// with 32, .955 and .960 of 27,000 with 19.
func TestCoverageOfRandomFields(t *testing.T) {
	random := rand.New(rand.NewPCG(2, 1))
	from := newSource(t, ideal(t, sixtyFour))
	draws := map[int]int{63: 150, 32: 60, 19: 60}
	for _, noise := range []float64{.3, 2} {
		for _, known := range []int{63, 32, 19} {
			var c tally
			for range draws[known] {
				seen, unseen := from.draw(random, 10, noise).split(some(random, 64, known))
				z, freedom := misses(t, seen, unseen, topo.Options{}, true)
				c.add(covered(z, freedom, .95))
			}
			checkCoverage(t, fmt.Sprintf("%d known, noise of %g µV", known, noise), c, .93, .97)
		}
	}
}

// The field of dipoles in a head of four shells, one or five at each latency,
// is not random; the brain ends at .878 of the radius. Found, at .6, .75 and
// .87: .996, .959 and .931 of 6,400 with 32 known, .984, .948 and .925 of 9,000
// with 19. Beside these, and held to less: 1, .985 and .955 of only 200 with
// 63 known, .961, .932 and .921 of 11,200 with 8.
func TestCoverageOfLayeredSphere(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 1))
	sites := ideal(t, sixtyFour)
	for _, c := range []struct{ eccentricity, most float64 }{{.6, 1}, {.75, .98}, {.87, 1}} {
		for _, known := range []int{63, 32, 19, 8} {
			var hits tally
			for draw := range 40 {
				f := dipoles(t, random, sites, 5, 1+4*(draw%2), c.eccentricity)
				seen, unseen := f.split(some(random, 64, known))
				z, freedom := misses(t, seen, unseen, topo.Options{}, false)
				hits.add(covered(z, freedom, .95))
			}
			what := fmt.Sprintf("%d known, eccentricity %g", known, c.eccentricity)
			if known == 32 || known == 19 {
				checkCoverage(t, what, hits, .92, c.most)
			} else {
				checkCoverage(t, what, hits, .85, 1)
			}
		}
	}
}
