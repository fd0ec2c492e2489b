package erp

import (
	"context"
	"slices"
	"testing"

	"calotte/layout"
	"calotte/topo/erp/montage"
	"calotte/topo/erp/reject"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording/event"
)

// Events that a person excludes leave the average of a recording without them.
func TestExcludedEpochsAreAbsentEvents(t *testing.T) {
	rec := noisy(t, 1, nil)
	out := []int{4, 8, 20} // all "a"
	p := twoConditions(t)
	for _, k := range out {
		p.Reject.Exclude = append(p.Reject.Exclude,
			reject.Exclusion{Source: "one.edf", Onset: rec.Events[k].Onset, Reason: "yawned"})
	}
	r, err := p.Run(context.Background(), inputsOf(rec)...)
	if err != nil {
		t.Fatal(err)
	}
	if got := r.Counts[0].Rejected["excluded: yawned"]; got != 3 {
		t.Errorf("%+v, want 3 excluded", r.Counts[0])
	}
	as, err := r.Averages("sub-01")
	if err != nil {
		t.Fatal(err)
	}
	absent := *rec
	absent.Events = nil
	for k, e := range rec.Events {
		if !slices.Contains(out, k) {
			absent.Events = append(absent.Events, e)
		}
	}
	want := averages(t, twoConditions(t), &absent)
	for i := range want {
		for s := range want[i].Mean {
			if !slices.Equal(as[i].Mean[s], want[i].Mean[s]) ||
				!slices.Equal(as[i].SEM[s], want[i].SEM[s]) {
				t.Fatalf("condition %d, site %d differs", i, s)
			}
		}
	}
	rows := r.Rows("x")
	for j, row := range rows {
		if excluded := slices.Contains(out, 2*j); excluded != (row.Reason == "excluded: yawned") ||
			excluded && row.Kept {
			t.Errorf("row %d: %+v", j, row)
		}
	}
}

// An electrode that is excluded in one epoch is repaired in it alone, where
// that is wanted, and drops the epoch elsewhere.
func TestExcludedElectrode(t *testing.T) {
	rec := noisy(t, 1, nil)
	decision := reject.Exclusion{Source: "one.edf", Onset: rec.Events[2].Onset, Site: "C4", Reason: "loose"}
	p := twoConditions(t)
	p.Reject.Swing, p.Reference, p.Repair.Sites, p.Reject.Exclude = 0, montage.Reference{}, nil,
		[]reject.Exclusion{decision}
	r, err := p.Run(context.Background(), inputsOf(rec)...)
	if err != nil {
		t.Fatal(err)
	}
	if c := r.Counts[0]; c.Kept != 18 || c.Rejected["excluded: loose"] != 1 {
		t.Errorf("%+v, want 18 kept and 1 excluded", c)
	}
	p.Repair.Excluded = true
	as, sets := saved(t, p, inputsOf(rec)...)
	if c := as[0].Info.Epochs; c.Kept != 19 {
		t.Errorf("%+v, want 19 kept", c)
	}
	plain := twoConditions(t)
	plain.Reject.Swing, plain.Reference, plain.Repair.Sites = 0, montage.Reference{}, nil
	_, before := saved(t, plain, inputsOf(rec)...)
	treated := twoConditions(t)
	treated.Reject.Swing, treated.Reference, treated.Repair.Sites = 0, montage.Reference{}, []layout.Name{"C4"}
	_, whole := saved(t, treated, inputsOf(rec)...)
	own, other, repaired := collect(sets[0]), collect(before[0]), collect(whole[0])
	for k := range own {
		for s := range own[k] {
			want := other[k][s]
			if k == 1 && nineSites[s] == "C4" {
				want = repaired[k][s]
			}
			if !slices.Equal(own[k][s], want) {
				t.Errorf("epoch %d, %s", k, nineSites[s])
			}
		}
	}
}

// A decision that fits no event is a mistake that a person wants to hear of;
// one about a recording or a condition that is not averaged now is not.
func TestExclusionsThatFitNothing(t *testing.T) {
	rec := noisy(t, 1, nil)
	for _, c := range []struct {
		x    reject.Exclusion
		want string // in the error; empty: none
	}{
		{reject.Exclusion{Source: "one.edf", Onset: rec.Events[0].Onset}, ""},
		{reject.Exclusion{Source: "one.edf", Onset: rec.Events[0].Onset + 0.004}, ""},
		{reject.Exclusion{Source: "one.edf", Onset: rec.Events[0].Onset + 0.006}, "one.edf at 0.506 s"},
		{reject.Exclusion{Source: "one.edf", Onset: rec.Events[1].Onset}, ""}, // of "b"
		{reject.Exclusion{Source: "two.edf", Onset: 3}, ""},
		{reject.Exclusion{Source: "one.edf", Onset: rec.Events[0].Onset, Site: "AF7"}, "AF7"},
	} {
		p := &Pipeline{Conditions: []Condition{{"x", event.Labels("a")}}, Epoch: erptest.Span(t, "-100..300ms"),
			Reject: Reject{Exclude: []reject.Exclusion{c.x}}}
		_, err := p.Run(context.Background(), inputsOf(rec)...)
		if c.want == "" && err != nil {
			t.Errorf("%v: %v", c.x, err)
		} else if c.want != "" {
			erptest.WantError(t, err, "excluded", c.want)
		}
	}
}
