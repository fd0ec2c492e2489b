package erp

import (
	"slices"
	"testing"

	"calotte/topo/erp/eye"
	"calotte/topo/erp/montage"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording/event"
)

func TestEyeChannelsOfAMontage(t *testing.T) {
	m, err := montage.New(erptest.Signals("Fz", "EOG HEOG", "ECG", "EOG VEOG", "Cz"), montage.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got := eye.Channels(m); !slices.Equal(got, []string{"VEOG", "HEOG"}) {
		t.Errorf("%v, want the vertical one first", got)
	}
	// They are found by what is said of them.
	for _, c := range []struct {
		label string
		want  int // signal; -1: none
	}{{"VEOG", 3}, {"EOG VEOG", 3}, {"heog", 1}, {"ECG", 2}, {"Fz", 0}, {"EOG", -1}, {"VEO", -1}} {
		e, err := newEyes([]eye.Channel{{Plus: c.label}}, nil,
			erptest.Signals("Fz", "EOG HEOG", "ECG", "EOG VEOG", "Cz"),
			m)
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

// A site serves as an eye channel by any of its names, however the recording
// writes it, and a signal's own label comes first.
func TestEyeChannelsBySite(t *testing.T) {
	signals := erptest.Signals("Fp1.", "Fpz.", "T3..", "EOG T8", "EEG Cz", "T4")
	m, err := montage.New(signals, montage.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		label string
		want  int // signal; -1: none
	}{{"Fp1", 0}, {"fp1.", 0}, {"FPZ", 1}, {"T7", 2}, {"T3", 2}, {"T8", 3}, {"T4", 5}, {"Cz", 4}, {"F8", -1}} {
		e, err := newEyes([]eye.Channel{{Plus: c.label}}, nil, signals, m)
		if c.want < 0 {
			erptest.WantError(t, err, c.label, "EOG T8")
			continue
		}
		if err != nil {
			t.Error(err)
			continue
		}
		if got := append(slices.Clone(m.Signals), e.read...)[e.sums[0][0].Signal]; got != c.want {
			t.Errorf("%s: signal %d, want %d", c.label, got, c.want)
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
	p := &Pipeline{Conditions: []Condition{{"x", event.Labels("a")}}, Epoch: erptest.Span(t, "-100..300ms"),
		Reject: Reject{Swing: 200}}
	r, err := p.Run(t.Context(), inputsOf(noisy(t, 1, loud))...)
	if err != nil {
		t.Fatal(err)
	}
	_, err = r.Averages("sub-01")
	erptest.WantError(t, err, "condition x kept none of its 19 epochs (19 peak to peak; most at P4 (19))")
}
