package contrast_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"calotte/topo/contrast"
	"calotte/topo/erp/average"
	"calotte/topo/inference"
	"calotte/topo/measure"
	"calotte/topo/unit"
)

// Of 2,000 invented studies, a component of 5 µV whose size and latency differ
// from person to person in smooth noise, so many show an interaction at .05
// where there is none, and of the first 1,000 so many 95 % intervals hold one
// that is planted: 2 µV more, and 12 ms later, in one cell of four.
//
//	                                                p .05 or less   held
//	sides,conditions, 12 people: mean                          93    953
//	                             area latency                  94    942
//	conditions,groups, 10 and 14: mean                         97    960
//	                              area latency                 96    942
func TestTwoFactorsErrAsTheySay(t *testing.T) {
	for _, c := range []struct {
		q      contrast.TwoFactors
		people []int
	}{
		{crossing(contrast.BySides, contrast.ByConditions), []int{12}},
		{crossing(contrast.ByConditions, contrast.ByGroups, "P8"), []int{10, 14}},
	} {
		t.Run(c.q.String(), func(t *testing.T) {
			t.Parallel()
			interactionsErrAsTheySay(t, c.q, c.people)
		})
	}
}

func interactionsErrAsTheySay(t *testing.T, q contrast.TwoFactors, people []int) {
	sets, planted := 2000, 1000
	if testing.Short() {
		sets, planted = 200, 100
	}
	window := []measure.Window{{Name: "p170", Polarity: measure.Positive, Span: unit.Span{From: .1, To: .26}}}
	const more, later = 2, .012
	shown, held := map[string]int{}, map[string]int{}
	for set := range sets {
		q.Test = inference.Options{Arrangements: 99, Seed: uint64(set)}
		found, err := q.Run(t.Context(), invented(t, set, people, 0, 0), window)
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range found {
			if x.Interaction().P <= .05 {
				shown[x.Score]++
			}
		}
		if set >= planted {
			continue
		}
		q.Test.Arrangements = 1 // intervals need none
		for score, c := range map[string]struct{ more, later, want float64 }{
			"mean": {more: more, want: meanOfBump(more)}, "area_latency": {later: later, want: later},
		} {
			found, err := q.Run(t.Context(), invented(t, set, people, c.more, c.later), window)
			if err != nil {
				t.Fatal(err)
			}
			for _, x := range found {
				if e := x.Interaction(); x.Score == score && e.Low <= c.want && c.want <= e.High {
					held[score]++
				}
			}
		}
	}
	for _, score := range []string{"mean", "area_latency"} {
		t.Logf("%s: p .05 or less %d of %d, held %d of %d", score, shown[score], sets, held[score], planted)
		if testing.Short() {
			continue
		}
		if rate := float64(shown[score]) / float64(sets); rate < .037 || rate > .063 {
			t.Errorf("%s: %.4f of studies without an interaction show one", score, rate)
		}
		if share := float64(held[score]) / float64(planted); share < .93 || share > .97 {
			t.Errorf("%s: %.4f of intervals hold what was planted", score, share)
		}
	}
}

// bumpTimes are those of invented waves.
func bumpTimes() (times []float64) {
	for i := range 101 {
		times = append(times, float64(i)*.004)
	}
	return times
}

func bump(at, latency float64) float64 {
	z := (at - latency) / .035
	return math.Exp(-z * z)
}

// meanOfBump is the mean of a component of some size at 170 ms from 100 to 260
// ms.
func meanOfBump(size float64) float64 {
	sum, n := 0., 0.
	for _, at := range bumpTimes() {
		if at > .0999 && at < .2601 {
			sum += size * bump(at, .17)
			n++
		}
	}
	return sum / n
}

// invented are grand averages at P7 and P8 of two conditions, in each of some
// groups. In the first cell, P8 of the first condition and group, the component
// is so much larger, at 170 ms, or later.
func invented(t *testing.T, set int, people []int, more, later float64) (out []contrast.Sample) {
	rng := rand.New(rand.NewPCG(uint64(set), 77))
	times := bumpTimes()
	for g, n := range people {
		conditions := [2][]*average.Average{}
		for i := range n {
			latency, size := .17+.01*rng.NormFloat64(), 5+rng.NormFloat64()
			for k, condition := range []string{"known", "novel"} {
				var waves [2][]float64 // P7, P8
				for side := range waves {
					own, extra := latency, 0.
					if g == 0 && k == 0 && side == 1 {
						own, extra = latency+later, more
					}
					x := 0.
					for _, at := range times {
						x = .8*x + .35*rng.NormFloat64()
						waves[side] = append(waves[side],
							x+size*bump(at, own)+extra*bump(at, .17))
					}
				}
				one := pilot(g*100+i, condition, []string{"P7", "P8"}, times, waves[0], waves[1])
				conditions[k] = append(conditions[k], one)
			}
		}
		for _, people := range conditions {
			s := group(t, people...)
			s.Average.Info.Name = fmt.Sprintf("group%d", g)
			out = append(out, s)
		}
	}
	return out
}
