package reject

import (
	"math"
	"reflect"
	"testing"

	"calotte/layout"
)

// Four verdicts counted by hand.
func TestRejectionsBySite(t *testing.T) {
	x, y, both := []string{"x"}, []string{"y"}, []string{"x", "y"}
	fault := func(sites ...string) []Fault {
		var out []Fault
		for _, s := range sites {
			out = append(out, Fault{Site: s, Reason: PeakToPeak}, Fault{Site: s, Reason: StepReason})
		}
		return out
	}
	r := Rejections{[]Verdict{
		{Conditions: x, Faults: fault("Cz")},
		{Conditions: y, Faults: fault("Fp1", "Cz")},
		{Conditions: both, Faults: fault("Fp1")},
		{Conditions: y, Faults: fault("fpz.", "AF7")},
		{Conditions: x},
		{Conditions: x, Other: OutsideData},
	}}
	want := []SiteTally{
		{"Cz", []int{1, 1}, 2, 1},
		{"Fp1", []int{1, 2}, 2, 1},
		{"fpz.", []int{0, 1}, 1, 0},
		{"AF7", []int{0, 1}, 1, 0},
	}
	if got := r.BySite(both); !reflect.DeepEqual(got, want) {
		t.Errorf("%+v, want %+v", got, want)
	}
	if got := r.AtForehead(); got != 3 {
		t.Errorf("%d at the forehead, want 3", got)
	}
	if got := (Rejections{}).BySite(both); got != nil {
		t.Errorf("%+v of no verdict", got)
	}
}

// A blink is large at the forehead and small elsewhere; a loud epoch and a loud
// site behind are none.
func TestLikeBlink(t *testing.T) {
	sites := []layout.Name{"Fp1", "Cz", "Pz", "Oz"}
	for _, c := range []struct {
		name   string
		swings []float64
		want   bool
	}{
		{"blink", []float64{101, 50, 20, 20}, true},
		{"at the limit", []float64{100, 20, 20, 20}, false},
		{"all are loud", []float64{190, 100, 90, 200}, false},
		{"loud behind", []float64{30, 20, 20, 300}, false},
		{"no number", []float64{math.NaN(), 20, 20, 20}, false},
	} {
		if got := LikeBlink(sites, c.swings); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}
