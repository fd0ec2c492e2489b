package erp

import (
	"context"
	"testing"

	"calotte/topo/internal/erptest"
	"calotte/topo/recording/event"
	"calotte/topo/unit"
)

// A response in the very sample of its stimulus, and baselines of any place:
// the mean that is subtracted is that about the stimulus, however far it lies
// from the epoch.
func TestLockedBaseline(t *testing.T) {
	// The ramp rises by a step a sample at 100 Hz, so that the baseline's
	// middle tells where it lies.
	rec := ramp(t, []string{"Cz"}, erptest.Annotation(2, "go"), erptest.Annotation(2, "press"),
		erptest.Annotation(5, "go"), erptest.Annotation(5.6, "press"))
	p := &Pipeline{
		Conditions: []Condition{{"go", event.Labels("go")}}, Epoch: erptest.Span(t, "0..100ms"),
		Baseline:  &unit.Span{From: -0.3, To: -0.1},
		Responses: &Responses{Events: event.Labels("press"), Within: unit.Span{From: 0, To: 1}, Lock: true},
	}
	var first []float64
	p.Keep = func(_ int, _ Trial, sites [][]float64) error {
		first = append(first, sites[0][0])
		return nil
	}
	r, err := p.Run(context.Background(), Input{Recording: rec})
	if err != nil {
		t.Fatal(err)
	}
	if r.Counts[0].Kept != 2 {
		t.Fatalf("%+v, want 2 kept", r.Counts[0])
	}
	step := first[0] / 20 // from 200 ms before the stimulus to time zero
	if step == 0 || !erptest.Near(first[1], 80*step, 1e-3) {
		t.Errorf("time zero is %v µV above the baselines, want 20 and 80 equal steps", first)
	}
}
