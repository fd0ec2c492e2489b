package contrast_test

import (
	"bytes"
	"os"
	"strconv"
	"testing"

	"calotte/layout"
	"calotte/topo/contrast"
	"calotte/topo/erp"
	"calotte/topo/erp/eye"
	"calotte/topo/erp/montage"
	"calotte/topo/forward/study"
	"calotte/topo/inference"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording"
	"calotte/topo/recording/event"
	"calotte/topo/unit"
)

// withoutEffect are the events of a session in which known flags alone take
// turns to be known and novel.
func withoutEffect(events []recording.Event) []recording.Event {
	var out []recording.Event
	for _, e := range events {
		if e.Text != study.Known {
			continue
		}
		if len(out)%2 == 1 {
			e.Text = study.Novel
		}
		out = append(out, e)
	}
	return out
}

// conditionsOf are the people of an invented study in its two conditions, with
// the effect that is planted, or without one.
func conditionsOf(t *testing.T, seed uint64, effect bool) [2]contrast.Group {
	t.Helper()
	s, err := study.New(seed)
	if err != nil {
		t.Fatal(err)
	}
	surface, err := s.Head().Surface()
	if err != nil {
		t.Fatal(err)
	}
	groups := [2]contrast.Group{{Title: study.Known}, {Title: study.Novel}}
	for _, person := range s.Participants() {
		var file bytes.Buffer
		if err := person.Write(&file); err != nil {
			t.Fatal(err)
		}
		rec := erptest.Open(t, file.Bytes())
		if !effect {
			rec.Events = withoutEffect(rec.Events)
		}
		p := &erp.Pipeline{Conditions: []erp.Condition{{Name: study.Known, Events: event.Labels(study.Known)},
			{Name: study.Novel, Events: event.Labels(study.Novel)}},
			Epoch: unit.Span{From: -0.2, To: 0.6}, Baseline: &unit.Span{From: -0.2, To: 0},
			Eyes:      []eye.Channel{{Plus: eye.WithoutType(study.EyeChannel)}},
			Reference: montage.AverageReference, Reject: erp.Reject{Swing: 150}}
		for _, site := range person.Failing {
			p.Repair.Sites = append(p.Repair.Sites, layout.Name(site))
			p.Repair.Surface = surface
		}
		result, err := p.Run(t.Context(), erp.Input{Recording: rec})
		if err != nil {
			t.Fatal(err)
		}
		averages, err := result.Averages(person.ID)
		if err != nil {
			t.Fatal(err)
		}
		for i := range groups {
			groups[i].People = append(groups[i].People, averages[i])
		}
	}
	return groups
}

// How often each correction finds the difference of the demo, 12 people and
// some 100 epochs a condition, between 100 and 250 ms, and how often one that
// is not there, of known flags that take turns. Over twenty studies
// (CALOTTE_STUDY=20), 1,000 sign flips:
//
//	                       hits    false hits
//	clusters, level 0.05      5             2
//	clusters, level 0.001    15             0
//	enhancement              13             0
//	largest |t|              11             0
//	false discovery rate      1             0
//
// The effect is at some five sites on the right for 60 ms: too small for
// clusters that weak points may join, and too few points for a rate over all.
func TestCorrectionsOnTheStudy(t *testing.T) {
	studies := 1
	if text := os.Getenv("CALOTTE_STUDY"); text != "" {
		var err error
		if studies, err = strconv.Atoi(text); err != nil {
			t.Fatal(err)
		}
	}
	rules := []struct {
		name    string
		correct contrast.Correction
		level   float64
	}{
		{"clusters, level 0.05", contrast.ByClusters, .05},
		{"clusters, level 0.001", contrast.ByClusters, .001},
		{"enhancement", contrast.ByEnhancement, 0},
		{"largest |t|", contrast.ByLargest, 0},
		{"false discovery rate", contrast.ByRate, 0},
	}
	during := unit.Span{From: .1, To: .25}
	hits := map[bool][]int{true: make([]int, len(rules)), false: make([]int, len(rules))}
	for seed := range studies {
		for effect, found := range hits {
			groups := conditionsOf(t, uint64(seed+1), effect)
			for k, rule := range rules {
				c := contrast.Comparison{Groups: groups, During: &during, Correct: rule.correct, Level: rule.level,
					Test: inference.Options{Arrangements: 1000, Seed: 1}}
				out, err := c.Run(t.Context())
				if err != nil {
					t.Fatal(err)
				}
				if out.AnyShown() {
					found[k]++
				}
			}
		}
	}
	for k, rule := range rules {
		t.Logf("%-22s hits %2d, false hits %2d of %d", rule.name, hits[true][k], hits[false][k], studies)
		// by chance of one in a thousand at most, were the rate .05
		if hits[false][k] > 1+studies/4 {
			t.Errorf("%s: %d of %d find what is not there", rule.name, hits[false][k], studies)
		}
	}
	if studies >= 10 && (hits[true][2] <= hits[true][0] || hits[true][2] < studies/2) {
		t.Errorf("enhancement finds the effect in %d of %d, clusters in %d", hits[true][2], studies, hits[true][0])
	}
}
