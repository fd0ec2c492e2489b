package erp

import (
	"context"
	"math/rand/v2"
	"testing"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo/erp/eye"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/erp/screen"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording"
	"calotte/topo/recording/event"
)

// sharedSource is a recording of sites that see one source and noise of their
// own; the signal with the index dead is zero throughout.
func sharedSource(t *testing.T, seed uint64, dead int, labels ...string) *recording.Recording {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 1))
	rows := matrix.New(len(labels), 1000)
	for k := range 1000 {
		source := 20 * rng.NormFloat64()
		for i := range rows {
			if x := source + 5*rng.NormFloat64(); i != dead {
				rows[i][k] = x
			}
		}
	}
	var events []recording.Event
	for k := range 16 {
		events = append(events, erptest.Annotation(0.5+float64(k)/2, "a"))
	}
	return erptest.Open(t, erptest.Write(t, recording.Header{Records: 10, Signals: erptest.Signals(labels...)},
		func(s, k int) float64 { return rows[s][k] }, events...))
}

func aroundA(t *testing.T) *Pipeline {
	return &Pipeline{Conditions: []Condition{{"x", event.Labels("a")}}, Epoch: erptest.Span(t, "-100..300ms")}
}

// The restored reference is zero, which is no fault of an electrode.
func TestRestoredReferenceIsNotFound(t *testing.T) {
	p := aroundA(t)
	p.Restore, p.Repair = "FCz", Repair{Found: true, Surface: head.Sphere(90)}
	r, err := p.Run(context.Background(),
		Input{Recording: sharedSource(t, 1, 2, "F3", "F4", "C3", "C4", "P3", "P4", "O1", "O2")})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Repaired) != 1 || r.Repaired[0].Site != "C3" || r.Repaired[0].Reason != screen.Flat {
		t.Errorf("repaired %+v, want C3, flat", r.Repaired)
	}
}

// A dead electrode that is repaired loses no epoch, whatever its label looks
// like and whether or not its montage is mixed.
func TestRepairedFlatSiteOfAnyLabel(t *testing.T) {
	for _, restore := range []layout.Name{"", "FCz"} {
		p := aroundA(t)
		p.Restore, p.Reject.Flat = restore, 0.2
		p.Repair = Repair{Sites: []layout.Name{"C3"}, Surface: head.Sphere(90)}
		r, err := p.Run(context.Background(),
			Input{Recording: sharedSource(t, 1, 2, "EEG F3", "EEG F4", "EEG C3", "EEG C4", "EEG P3",
				"EEG P4",
				"EEG O1",
				"EEG O2")})
		if err != nil {
			t.Fatal(err)
		}
		if c := r.Counts[0]; c.Kept != 16 {
			t.Errorf("restoring %q: %+v, want 16 kept", restore, c)
		}
	}
}

// One regression needs one montage.
func TestEyesOfUnlikeMontages(t *testing.T) {
	p := aroundA(t)
	p.Eyes = []eye.Channel{{Plus: "EOG VEOG"}}
	a := Input{Name: "one.edf", Recording: sharedSource(t, 1, -1, "F3", "F4", "C3", "C4", "EOG VEOG")}
	b := Input{Name: "two.edf", Recording: sharedSource(t, 2, -1, "F3", "F4", "C3", "C4", "A1", "A2", "EOG VEOG")}
	_, err := p.Run(context.Background(), a, b)
	erptest.WantError(t, err, "two.edf: ears and mastoids differ", "A1 is new")
	_, err = p.Run(context.Background(), b, a)
	erptest.WantError(t, err, "one.edf: ears and mastoids differ", "A1 is missing")
}
