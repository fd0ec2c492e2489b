package erp

import (
	"reflect"
	"slices"
	"testing"

	"calotte/topo/erp/montage"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording/event"
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

func TestEyeChannelsOfAMontage(t *testing.T) {
	m, err := montage.New(erptest.Signals("Fz", "EOG HEOG", "ECG", "EOG VEOG", "Cz"), montage.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got := EyeChannels(m); !slices.Equal(got, []string{"VEOG", "HEOG"}) {
		t.Errorf("%v, want the vertical one first", got)
	}
	// They are found by what is said of them.
	for _, c := range []struct {
		label string
		want  int // signal; -1: none
	}{{"VEOG", 3}, {"EOG VEOG", 3}, {"heog", 1}, {"ECG", 2}, {"Fz", 0}, {"EOG", -1}, {"VEO", -1}} {
		e, err := newEyes([]Eye{{Plus: c.label}}, erptest.Signals("Fz", "EOG HEOG", "ECG", "EOG VEOG", "Cz"), m)
		switch {
		case c.want < 0:
			erptest.WantError(t, err, c.label, "EOG HEOG")
		case err != nil:
			t.Error(err)
		default:
			read := append(slices.Clone(m.Signals), e.read...)
			if got := read[e.sums[0][0].Signal]; got != c.want {
				t.Errorf("%s: signal %d, want %d", c.label, got, c.want)
			}
		}
	}
}

// A condition that keeps nothing says which electrodes to look at.
func TestNothingKeptSaysWhere(t *testing.T) {
	loud := func(signal, _ int, x float64) float64 {
		if nineSites[signal] == "P4" {
			return 10 * x
		}
		return x
	}
	p := &Pipeline{Conditions: []Condition{{"x", event.Labels("a")}}, Epoch: erptest.Span(t, "-100..300ms"), Reject: Reject{Swing: 200}}
	r, err := p.Run(t.Context(), inputsOf(noisy(t, 1, loud))...)
	if err != nil {
		t.Fatal(err)
	}
	_, err = r.Averages("sub-01")
	erptest.WantError(t, err, "condition x kept none of its 19 epochs (19 peak to peak; most at P4 (19))")
}
