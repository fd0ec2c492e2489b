package contrast_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"calotte/layout"
	"calotte/topo/contrast"
	"calotte/topo/erp/average"
	"calotte/topo/measure"
	"calotte/topo/unit"
)

// pilot is an average of one person at one site or more.
func pilot(number int, condition string, sites []string, times []float64, waves ...[]float64) *average.Average {
	return &average.Average{Info: average.Info{Kind: average.Participant, Name: fmt.Sprintf("sub-%02d", number+1),
		Condition: condition}, Sites: sites, Times: times, Mean: waves}
}

// The numbers of numpy and scipy, by testdata/measure/jackknife.py.
func TestScoreDifferencesAgainstScipy(t *testing.T) {
	type numbers struct{ Difference, SE, P, Low, High []float64 }
	var want struct {
		Times              []float64
		Data               [][2][]float64
		From, To           float64
		Jackknifed, Within numbers
	}
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "measure", "jackknife.json"))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &want); err != nil {
		t.Fatal(err)
	}
	window := measure.Window{Name: "p170", Polarity: measure.Positive,
		Span: unit.Span{From: unit.Time(want.From), To: unit.Time(want.To)}}
	var known, novel, both []*average.Average
	for i, person := range want.Data {
		known = append(known, pilot(i, "known", []string{"Pz"}, want.Times, person[0]))
		// in another order
		novel = append([]*average.Average{pilot(i, "novel", []string{"Pz"}, want.Times, person[1])}, novel...)
		both = append(both, pilot(i, "known", []string{"P7", "P8"}, want.Times, person[1], person[0]))
	}
	conditions, err := contrast.Scoring{}.BetweenConditions(group(t, known...), group(t, novel...),
		[]measure.Window{window})
	if err != nil {
		t.Fatal(err)
	}
	sides, err := contrast.Scoring{}.BetweenSides(group(t, both...), contrast.Sides{}, []measure.Window{window})
	if err != nil {
		t.Fatal(err)
	}
	for what, list := range map[string][]contrast.ScoreDifference{"conditions": conditions, "sides": sides} {
		if len(list) != len(contrast.ScoreNames) {
			t.Fatalf("%s: %d scores", what, len(list))
		}
		for k, d := range list {
			for _, c := range []struct {
				way  string
				got  contrast.ScoreTest
				want numbers
			}{{"jackknife", d.Jackknifed, want.Jackknifed}, {"within", d.Within, want.Within}} {
				name := fmt.Sprintf("%s, %s, %s", what, d.Score, c.way)
				near(t, name, c.got.Difference, c.want.Difference[k])
				near(t, name+" se", c.got.SE, c.want.SE[k])
				near(t, name+" p", c.got.P, c.want.P[k])
				near(t, name+" low", c.got.Low, c.want.Low[k])
				near(t, name+" high", c.got.High, c.want.High[k])
			}
		}
	}
	if conditions[0].Place != "Pz" || sides[0].Place != "P8 minus P7" {
		t.Errorf("places %q and %q", conditions[0].Place, sides[0].Place)
	}
	if _, err := (contrast.Scoring{Sites: []layout.Name{"Pz"}}).BetweenConditions(group(t, known...),
		group(t, novel[1:]...), []measure.Window{window}); err == nil {
		t.Error("other people are compared")
	}
}

// Where two conditions are alike, a component of 5 µV in smooth noise, of 2,000
// sets of 12 people so many differ at .05, and where one is 12 ms later so many
// 95 % intervals hold that, by the jackknife and within people:
//
//	                p .05 or less    12 ms held
//	onset           .0375  .0560    .9475  .9475
//	area latency    .0460  .0475    .9570  .9355
//	peak latency    .0875  .0490    .9180  .9490
//
// The peak of a grand average jumps between neighbouring tops, so that the
// jackknife errs more than it says: it is told, and not gated.
func TestScoreDifferencesErrAsTheySay(t *testing.T) {
	sets, people := 2000, 12
	if testing.Short() {
		sets = 200
	}
	var times []float64
	for i := range 101 {
		times = append(times, float64(i)*.004)
	}
	window := []measure.Window{{Name: "p170", Polarity: measure.Positive, Span: unit.Span{From: .1, To: .26}}}
	wave := func(rng *rand.Rand, latency float64) []float64 {
		out, x := make([]float64, len(times)), 0.
		for i, at := range times {
			x = .8*x + .35*rng.NormFloat64()
			z := (at - latency) / .035
			out[i] = x + 5*math.Exp(-z*z)
		}
		return out
	}
	for _, later := range []float64{0, .012} {
		false1, false2, hold1, hold2 := map[string]int{}, map[string]int{}, map[string]int{}, map[string]int{}
		for set := range sets {
			rng := rand.New(rand.NewPCG(uint64(set), math.Float64bits(later)))
			var one, other []*average.Average
			for i := range people {
				own := .17 + .01*rng.NormFloat64()
				one = append(one, pilot(i, "known", []string{"Pz"}, times, wave(rng, own+later)))
				other = append(other, pilot(i, "novel", []string{"Pz"}, times, wave(rng, own)))
			}
			found, err := contrast.Scoring{}.BetweenConditions(group(t, one...), group(t, other...), window)
			if err != nil {
				t.Fatal(err)
			}
			for _, d := range found {
				if d.Jackknifed.P <= .05 {
					false1[d.Score]++
				}
				if d.Within.P <= .05 {
					false2[d.Score]++
				}
				if d.Jackknifed.Low <= later && d.Jackknifed.High >= later {
					hold1[d.Score]++
				}
				if d.Within.Low <= later && d.Within.High >= later {
					hold2[d.Score]++
				}
			}
		}
		for _, score := range []string{"peak_latency", "onset", "area_latency"} {
			share := func(counts map[string]int) float64 { return float64(counts[score]) / float64(sets) }
			t.Logf("%g ms later, %s: p .05 or less %.4f and %.4f, held %.4f and %.4f", later*1e3, score,
				share(false1), share(false2), share(hold1), share(hold2))
			if score == "peak_latency" || testing.Short() {
				continue
			}
			for _, held := range []float64{share(hold1), share(hold2)} {
				if held < .93 || held > .97 {
					t.Errorf("%g ms later, %s: %.4f of the intervals hold it", later*1e3, score,
						held)
				}
			}
			for _, errs := range []float64{share(false1), share(false2)} {
				if later == 0 && (errs < .037 || errs > .063) {
					t.Errorf("%s: %.4f of alike conditions differ", score, errs)
				}
			}
		}
	}
}
