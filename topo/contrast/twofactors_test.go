package contrast_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"calotte/layout"
	"calotte/topo/contrast"
	"calotte/topo/erp/average"
	"calotte/topo/inference"
	"calotte/topo/measure"
	"calotte/topo/unit"
)

type effectNumbers struct {
	Value, SE, T, Freedom, Low, High float64
	P                                *float64 // nil: not tested
}

type crossedNumbers struct {
	Within struct {
		People  [][]float64
		Effects []effectNumbers
	}
	Groups struct {
		People  [2][][]float64
		Effects []effectNumbers
	}
}

func readCrossed(t *testing.T) (want crossedNumbers) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "inference", "factors.json"))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &want); err != nil {
		t.Fatal(err)
	}
	return want
}

// wholeWindow holds both samples of flat averages.
var wholeWindow = []measure.Window{{Name: "n170", Polarity: measure.Negative, Span: unit.Span{From: 0, To: .004}}}

// crossing asks by all arrangements.
func crossing(first, second contrast.Factor, sites ...layout.Name) contrast.TwoFactors {
	return contrast.TwoFactors{Scoring: contrast.Scoring{Sites: sites}, First: first, Second: second,
		Test: inference.Options{Arrangements: 1000}}
}

// flatGroup is a grand average of flat people, a row of values each.
func flatGroup(t *testing.T, name, condition string, rows ...[]float64) contrast.Sample {
	t.Helper()
	var people []*average.Average
	for i, row := range rows {
		people = append(people, flat(fmt.Sprintf("%s-%02d", name, i+1), condition, row...))
	}
	s := group(t, people...)
	s.Average.Info.Name = name
	return s
}

// checkEffects compares all effects of the mean with those of scipy.
func checkEffects(t *testing.T, name string, x contrast.Interaction, want []effectNumbers) {
	t.Helper()
	if x.Score != "mean" || len(x.Effects) != len(want) {
		t.Fatalf("%s: %s, %d effects, want %d", name, x.Score, len(x.Effects), len(want))
	}
	for i, e := range x.Effects {
		w, what := want[i], fmt.Sprintf("%s, %s, %v", name, e.Kind, e.Part)
		p := math.NaN()
		if w.P != nil {
			p = *w.P
		}
		for _, c := range [][2]float64{{e.Value, w.Value}, {e.SE, w.SE}, {e.T, w.T}, {e.Freedom, w.Freedom},
			{e.Low, w.Low}, {e.High, w.High}, {e.P, p}} {
			near(t, what, c[0], c[1])
		}
	}
}

// Cells, main and simple effects and the interaction, with intervals and p by
// all arrangements: the numbers of scipy and numpy by
// testdata/inference/factors.py.
func TestTwoFactorsAgainstScipy(t *testing.T) {
	want := readCrossed(t)
	var known, novel [][]float64
	for _, v := range want.Within.People { // right first in the script
		known = append(known, []float64{v[2], v[0], 0, 1, 2})
		novel = append(novel, []float64{v[3], v[1], 0, 1, 2})
	}
	one, other := flatGroup(t, "pilots", "known", known...), flatGroup(t, "pilots", "novel", novel...)
	slices.Reverse(other.Units)
	for _, q := range []contrast.TwoFactors{crossing(contrast.BySides, contrast.ByConditions, "P7"),
		crossing(contrast.BySites, contrast.ByConditions, "P8", "P7")} {
		found, err := q.Run(t.Context(), []contrast.Sample{one, other}, wholeWindow)
		if err != nil {
			t.Fatal(err)
		}
		checkEffects(t, q.String(), found[0], want.Within.Effects)
		last := found[0].Interaction()
		if last.Part != [2]string{"P8 minus P7", "known minus novel"} || last.Kind != "interaction" ||
			!slices.Equal(last.People, []int{7}) || found[0].Place != "P8 minus P7" {
			t.Errorf("%v: %+v", q, found[0])
		}
	}

	var samples [2][2]contrast.Sample // group × condition
	var sides [2]contrast.Sample
	for g, name := range []string{"pilots", "clinic"} {
		var known, novel, both [][]float64
		for _, v := range want.Groups.People[g] {
			known, novel = append(known, []float64{v[0]}), append(novel, []float64{v[1]})
			both = append(both, []float64{v[1], v[0], 0, 1, 2})
		}
		samples[g] = [2]contrast.Sample{flatGroup(t, name, "known", known...),
			flatGroup(t, name, "novel", novel...)}
		sides[g] = flatGroup(t, name, "known", both...)
	}
	q := crossing(contrast.ByConditions, contrast.ByGroups)
	// In any order, the first decides what is subtracted from what.
	found, err := q.Run(t.Context(), []contrast.Sample{samples[0][0], samples[1][1], samples[0][1], samples[1][0]},
		wholeWindow)
	if err != nil {
		t.Fatal(err)
	}
	checkEffects(t, q.String(), found[0], want.Groups.Effects)
	if last := found[0].Interaction(); last.Part != [2]string{"known minus novel", "pilots minus clinic"} ||
		!slices.Equal(last.People, []int{4, 5}) {
		t.Errorf("%+v", last)
	}
	if simple := found[0].Effects[7]; simple.Part[1] != "clinic" || !slices.Equal(simple.People, []int{5}) {
		t.Errorf("%+v", simple)
	}
	for _, q := range []contrast.TwoFactors{crossing(contrast.BySides, contrast.ByGroups, "P7"),
		crossing(contrast.BySites, contrast.ByGroups, "P8", "P7")} {
		found, err := q.Run(t.Context(), sides[:], wholeWindow)
		if err != nil {
			t.Fatal(err)
		}
		checkEffects(t, q.String(), found[0], want.Groups.Effects)
	}
}

// A person in one condition only is named and left out, and so is one who lacks
// a score, of that score alone.
func TestTwoFactorsLeaveOut(t *testing.T) {
	known := flatGroup(t, "pilots", "known", []float64{-1, -4}, []float64{0, -3}, []float64{-1, -3},
		[]float64{9, 9})
	novel := flatGroup(t, "pilots", "novel", []float64{-1, -2}, []float64{-1, -2}, []float64{0, -3})
	novel.Units = append(novel.Units, flat("sub-77", "novel", 9, 9))
	q := crossing(contrast.BySides, contrast.ByConditions)
	found, err := q.Run(t.Context(), []contrast.Sample{known, novel}, wholeWindow)
	if err != nil {
		t.Fatal(err)
	}
	mean, peak := found[0], found[1]
	if strings.Join(mean.LeftOut, "; ") != "pilots-04 (not in novel); sub-77 (not in known)" ||
		!slices.Equal(mean.People, []int{3}) {
		t.Errorf("%q, %v", mean.LeftOut, mean.People)
	}
	// (−3 + 1) = −2, (−3 + 1) = −2, (−2 + 3) = 1: of eight flips two have a sum
	// of ±3 as this has, and two one of ±5.
	e := mean.Interaction()
	near(t, "interaction", e.Value, -1)
	near(t, "p", e.P, 4./8)
	if !math.IsNaN(peak.Interaction().P) || peak.People[0] != 0 ||
		!slices.Contains(peak.LeftOut, "pilots-01 (no peak in P8, known)") {
		t.Errorf("a flat wave has a peak: %+v", peak)
	}
	if got := peak.Words(); got != "n170, peak: too few people have it in all cells (0 people)" {
		t.Error(got)
	}
}

// A wave that is no number is a score that is not there.
func TestTwoFactorsWithoutNumbers(t *testing.T) {
	rows := [][]float64{{-1, -4}, {0, -3}, {-1, -3}}
	known, novel := flatGroup(t, "pilots", "known", rows...), flatGroup(t, "pilots", "novel", rows...)
	novel.Units[1].Mean[0][1] = math.NaN()
	found, err := crossing(contrast.BySides, contrast.ByConditions).Run(t.Context(),
		[]contrast.Sample{known, novel}, wholeWindow)
	if err != nil {
		t.Fatal(err)
	}
	if x := found[0]; strings.Join(x.LeftOut, "; ") != "pilots-02 (no mean in P7, novel)" || x.People[0] != 2 ||
		x.Interaction().Value != 0 {
		t.Errorf("%+v", x)
	}
}

func TestTwoFactorsRefuse(t *testing.T) {
	rows := [][]float64{{-1, -4, 0, 1, 2}, {0, -3, 0, 1, 2}, {-1, -3, 0, 1, 2}}
	known, novel := flatGroup(t, "pilots", "known", rows...), flatGroup(t, "pilots", "novel", rows...)
	third, clinic := flatGroup(t, "pilots", "odd", rows...), flatGroup(t, "clinic", "known", rows...)
	shared := flatGroup(t, "clinic", "known", rows...)
	shared.Units[1].Info.Name = "pilots-02"
	others, twice := flatGroup(t, "pilots", "novel", rows...), flatGroup(t, "pilots", "novel", rows...)
	for i, u := range others.Units {
		u.Info.Name = fmt.Sprintf("sub-%d", i)
	}
	twice.Units[1].Info.Name = "pilots-01"
	later := flatGroup(t, "pilots", "novel", rows...)
	later.Average.Times = []float64{0, .005}
	fewer := flatGroup(t, "pilots", "novel", []float64{1, 2, 3}, []float64{1, 2, 3})
	unpaired := flatGroup(t, "pilots", "novel", rows...)
	unpaired.Average.Sites = []string{"P3", "Pz", "Cz", "F8", "T7"}
	conditions := crossing(contrast.BySides, contrast.ByConditions)
	for want, c := range map[string]struct {
		q       contrast.TwoFactors
		samples []contrast.Sample
	}{
		"of two conditions of the same people, and there are 3: known of pilots; novel of pilots; odd of " +
			"pilots": {conditions, []contrast.Sample{known, novel, third}},
		"and there are 1": {conditions, []contrast.Sample{known}},
		"and there are 2: known of pilots; known of clinic": {conditions, []contrast.Sample{known, clinic}},
		"conditions,groups takes four grand averages": {crossing(contrast.ByConditions, contrast.ByGroups),
			[]contrast.Sample{known, novel, clinic}},
		"the same two conditions": {crossing(contrast.ByConditions, contrast.ByGroups),
			[]contrast.Sample{known, novel, clinic, clinic}},
		"of one condition in two groups": {crossing(contrast.BySides, contrast.ByGroups),
			[]contrast.Sample{known, novel}},
		"pilots and clinic share pilots-02: expected groups of different people": {
			crossing(contrast.BySides, contrast.ByGroups), []contrast.Sample{known, shared}},
		"people with all cells of pilots: 0, expected two or more; left out: pilots-01 (not in novel)": {
			conditions, []contrast.Sample{known, others}},
		"pilots-01 is there twice in novel of pilots": {conditions, []contrast.Sample{known, twice}},
		"other samples: bring both to one rate":       {conditions, []contrast.Sample{known, later}},
		"have other sites":                            {conditions, []contrast.Sample{known, fewer}},
		"no two of its sites are mirrored": {conditions,
			[]contrast.Sample{known, unpaired}},
		"Cz has no mirrored site": {crossing(contrast.BySides, contrast.ByConditions, "Cz"),
			[]contrast.Sample{known, novel}},
		"takes two sites or pools, not 3": {crossing(contrast.BySites, contrast.ByConditions, "P7", "P8", "Cz"),
			[]contrast.Sample{known, novel}},
		"by 0 arrangements": {contrast.TwoFactors{Second: contrast.ByConditions},
			[]contrast.Sample{known, novel}},
	} {
		_, err := c.q.Run(t.Context(), c.samples, wholeWindow)
		if err == nil || !strings.Contains(err.Error(), want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%v does not say %q", err, want)
		}
	}
	novel.Average.Info.Minus = "odd"
	_, err := conditions.Run(t.Context(), []contrast.Sample{known, novel}, wholeWindow)
	if d, ok := errors.AsType[*contrast.DifferenceError](err); !ok || d.Index != 1 {
		t.Errorf("%v, want the second to be a difference", err)
	}
}

// By hand: at P8 the conditions differ by −4, −3, −5 and −4 µV, at P7 by −1, 0,
// −1 and −2, hence by −3, −3, −4 and −2, which all flips but two of 16 are less
// than: p 0.12. With six people it is 2 of 64.
func TestTwoFactorsWords(t *testing.T) {
	known := [][]float64{{-1, -5}, {0, -4}, {-1, -6}, {-2, -5}, {-1, -5}, {0, -4}}
	novel := [][]float64{{0, -1}, {0, -1}, {0, -1}, {0, -1}, {0, -1}, {0, -1}}
	words := func(q contrast.TwoFactors, samples ...contrast.Sample) (contrast.Interaction, string) {
		found, err := q.Run(t.Context(), samples, wholeWindow)
		if err != nil {
			t.Fatal(err)
		}
		return found[0], q.TestWords(found)
	}
	q := crossing(contrast.BySides, contrast.ByConditions)
	few, test := words(q, flatGroup(t, "pilots", "known", known[:4]...),
		flatGroup(t, "pilots", "novel", novel[:4]...))
	if got := few.Words(); got != "n170, mean: the difference known minus novel is not shown to be more positive "+
		"or negative at P8 than at P7: −3.00 µV [−4.30, −1.70], p 0.12 (4 people)" {
		t.Error(got)
	}
	if want := "p: all sign flips of 4 people; the smallest p they allow is 0.12."; !strings.Contains(test, want) {
		t.Errorf("%q is not in %q", want, test)
	}
	six, _ := words(q, flatGroup(t, "pilots", "known", known...), flatGroup(t, "pilots", "novel", novel...))
	if got := six.Words(); got != "n170, mean: the difference known minus novel is more negative at P8 than at P7 "+
		"by 3.00 µV [2.34, 3.66], p 0.031 (6 people)" {
		t.Error(got)
	}
	six.Score = "peak_latency" // of the same numbers, as s
	if got := six.Words(); got != "n170, peak latency: the delay known minus novel is shorter at P8 than at P7 by "+
		"3000.00 ms [2336.28, 3663.72], p 0.031 (6 people)" {
		t.Error(got)
	}
	six.Score = "mean"
	lines := six.Lines()
	if got := strings.Join(lines, "\n"); got != strings.TrimSpace(`
n170 mean, µV   known          novel
P8              −4.83 ± 0.31   −1.00 ± 0.00
P7              −0.83 ± 0.31   0.00 ± 0.00
P8 minus P7, mean of known and novel   −2.50 [−2.83, −2.17]   p 0.031
mean of P8 and P7, known minus novel   −2.33 [−3.05, −1.62]   p 0.031
P8 minus P7, known                     −4.00 [−4.66, −3.34]   p 0.031
P8 minus P7, novel                     −1.00 [−1.00, −1.00]   p 0.031
P8, known minus novel                  −3.83 [−4.62, −3.04]   p 0.031
P7, known minus novel                  −0.83 [−1.62, −0.04]   p 0.12
P8 minus P7, known minus novel         −3.00 [−3.66, −2.34]   p 0.031`) {
		t.Error(got)
	}
	// The other way round, between groups.
	between, test := words(crossing(contrast.ByConditions, contrast.ByGroups, "P8"),
		flatGroup(t, "clinic", "known", novel...), flatGroup(t, "clinic", "novel", novel[:6]...),
		flatGroup(t, "pilots", "known", known...), flatGroup(t, "pilots", "novel", novel...))
	if got := between.Words(); !strings.HasPrefix(got, "n170 at P8, mean: the difference known minus novel is "+
		"more positive in clinic than in pilots by 3.83 µV [3.") ||
		!strings.HasSuffix(got, "p 0.0022 (6 and 6 people)") {
		t.Error(got)
	}
	if want := "all exchanges of 6 and 6 people, within them by sign flips"; !strings.Contains(test, want) {
		t.Errorf("%q is not in %q", want, test)
	}
}
