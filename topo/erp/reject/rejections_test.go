package reject

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"calotte/topo/erp/internal/matrix"
)

func faults(sites ...string) []Fault {
	var out []Fault
	for _, s := range sites {
		out = append(out, Fault{Site: s, Reason: PeakToPeak, Value: 200, Limit: 150})
	}
	return out
}

func repeat(n int, v Verdict) []Verdict { return slices.Repeat([]Verdict{v}, n) }

func TestJudge(t *testing.T) {
	rules := []Rule{Swing{Limits{10}}, Step{Limits{10}, 1}}
	samples := [][]float64{{0, 1}, {0, 20}, {0, 30}, {0, 99}} // the last is no site
	got := Judge(rules, []string{"Fz", "Cz", "Pz"}, samples, []bool{false, false, true})
	want := []Fault{{"Cz", PeakToPeak, 20, 10}, {"Cz", StepReason, 20, 10}}
	if !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	if got := Judge(rules, []string{"Fz"}, samples, nil); got != nil {
		t.Errorf("%v, want none", got)
	}
	if got, want := want[0].String(), "Cz peak to peak (20, limit 10)"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// Twenty rejections, twelve of which AF7 alone caused.
func TestAdviceIsTheCount(t *testing.T) {
	known, novel := []string{"known"}, []string{"novel"}
	r := Rejections{slices.Concat(
		repeat(40, Verdict{Conditions: known}), repeat(35, Verdict{Conditions: novel}),
		repeat(7, Verdict{Conditions: known, Faults: faults("AF7")}),
		repeat(4, Verdict{Conditions: novel, Faults: faults("AF7")}),
		repeat(1, Verdict{Conditions: novel,
			Faults: []Fault{{"AF7", PeakToPeak, 200, 150}, {"AF7", StepReason, 90, 50}}}),
		repeat(3, Verdict{Conditions: novel, Faults: faults("AF7", "Fp1")}),
		repeat(2, Verdict{Conditions: known, Faults: faults("Fp1")}),
		repeat(1, Verdict{Conditions: known, Faults: faults("AF7"), Other: OutsideData}),
		repeat(2, Verdict{Conditions: known, Other: OutsideData}),
	)}
	a, ok := r.Advise()
	if !ok || r.Lost() != 20 || a.Lost != 20 || !slices.Equal(a.Sites, []string{"AF7", "Fp1"}) || a.Gain != 17 {
		t.Errorf("%+v of %d", a, r.Lost())
	}
	if r.Gain("AF7") != 12 || r.Gain("Fp1") != 2 || r.Gain() != 0 || r.Gain("Cz") != 0 {
		t.Errorf("gains %d, %d, %d, %d", r.Gain("AF7"), r.Gain("Fp1"), r.Gain(), r.Gain("Cz"))
	}
	for want, a := range map[string]Advice{
		"AF7 alone caused 12 of 20 rejections":         {[]string{"AF7"}, 12, 20},
		"AF7, Fp1 together caused 17 of 20 rejections": {[]string{"AF7", "Fp1"}, 17, 20},
	} {
		if a.String() != want {
			t.Errorf("%q, want %q", a, want)
		}
	}
	want := []Tally{
		{"known", "AF7", PeakToPeak, 8, 7}, {"known", "Fp1", PeakToPeak, 2, 2},
		{"novel", "AF7", PeakToPeak, 8, 5}, {"novel", "Fp1", PeakToPeak, 3, 0},
		{"novel", "AF7", StepReason, 1, 1},
	}
	if got := r.Tallies(); !slices.Equal(got, want) {
		t.Errorf("tallies %v, want %v", got, want)
	}
	if c := r.Counts("known"); c.Kept != 40 || c.Rejected[PeakToPeak] != 9 || c.Rejected[OutsideData] != 3 {
		t.Errorf("known: %+v", c)
	}
}

func TestNoAdvice(t *testing.T) {
	for name, r := range map[string]Rejections{
		"nothing lost":     {repeat(5, Verdict{Conditions: []string{"x"}})},
		"one epoch":        {repeat(1, Verdict{Faults: faults("Cz")})},
		"outside the data": {repeat(9, Verdict{Other: OutsideData})},
		"always two":       {repeat(9, Verdict{Faults: faults("Fp1", "Fp2")})},
		"less than one fifth": {slices.Concat(repeat(2, Verdict{Faults: faults("Cz")}),
			repeat(9, Verdict{Faults: faults("Fp1", "Fp2")}))},
	} {
		if a, ok := r.Advise(); ok {
			t.Errorf("%s: %v", name, a)
		}
	}
}

// The gain is what comes of judging anew without the sites: on random epochs,
// rules and sites.
func TestGainIsWhatJudgingAnewKeeps(t *testing.T) {
	sites := []string{"Fz", "Cz", "Pz", "Oz"}
	rules := []Rule{Swing{Limits{40}}, Step{Limits{25}, 2}}
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		var r, anew Rejections
		skip := make([]bool, len(sites))
		var skipped []string
		for i := range skip {
			if skip[i] = rapid.Bool().Draw(t, "skip"); skip[i] {
				skipped = append(skipped, sites[i])
			}
		}
		for range 30 {
			epoch := matrix.New(len(sites), 8)
			for _, row := range epoch {
				for k := range row {
					row[k] = 12 * rng.NormFloat64()
				}
			}
			r.Verdicts = append(r.Verdicts, Verdict{Faults: Judge(rules, sites, epoch, nil)})
			anew.Verdicts = append(anew.Verdicts, Verdict{Faults: Judge(rules, sites, epoch, skip)})
		}
		if got, want := r.Gain(skipped...), r.Lost()-anew.Lost(); got != want {
			t.Fatalf("gain %d, want %d", got, want)
		}
	})
}

func ExampleRejections_Advise() {
	r := Rejections{slices.Concat(
		repeat(12, Verdict{Conditions: []string{"known"}, Faults: faults("AF7")}),
		repeat(8, Verdict{Conditions: []string{"known"}, Faults: faults("AF7", "Fp1", "Fp2")}),
	)}
	if a, ok := r.Advise(); ok {
		fmt.Printf("%v: with it repaired, %d more epochs are kept\n", a, a.Gain)
	}
	// Output: AF7 alone caused 12 of 20 rejections: with it repaired, 12 more epochs are kept
}
