package erp

import (
	"context"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"calotte/layout/head"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/erp/reject"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording"
	"calotte/topo/unit"
)

// A dead electrode, one at the end of its range, the mains' hum and an epoch
// that swings are all told.
func TestCheckup(t *testing.T) {
	labels := []string{"F3", "F4", "C3", "C4", "P3", "P4", "O1", "O2", "Cz", "Pz"}
	const dead, clipping, rate, hum = 2, 5, 250, 7.0
	rng := rand.New(rand.NewPCG(2, 3))
	h := recording.Header{Records: 20}
	for _, l := range labels {
		h.Signals = append(h.Signals, erptest.Signal(l, rate))
	}
	h.Signals[clipping].PhysicalMin, h.Signals[clipping].PhysicalMax = -60, 60
	rows := matrix.New(len(labels), rate*h.Records)
	for k := range rows[0] {
		source := 15 * rng.NormFloat64()
		mains := hum * math.Sin(2*math.Pi*50*float64(k)/rate)
		for i := range rows {
			rows[i][k] = source + 3*rng.NormFloat64() + mains
		}
		rows[dead][k] = 0
	}
	for k := 10 * rate; k < 10*rate+50; k++ { // beyond the range of one, and a swing of all
		for i := range rows {
			rows[i][k] += 400 * float64(i%2)
		}
	}
	var events []recording.Event
	for k := range 18 {
		events = append(events, erptest.Annotation(1+float64(k), "go"))
	}
	rec := erptest.Open(t, erptest.Write(t, h, func(s, k int) float64 { return rows[s][k] },
		append(events, erptest.Annotation(19.9, "go"), erptest.Annotation(5.5, "pause"))...))
	got, err := Checkup{
		Surface: head.Sphere(90), Epoch: unit.Span{From: -0.2, To: 0.5}, Swing: 200,
		Events: func(e recording.Event) bool { return e.Text == "go" },
	}.Check(context.Background(), Input{Recording: rec})
	if err != nil {
		t.Fatal(err)
	}
	if got.Sites != 10 || got.Seconds != 20 {
		t.Errorf("%d sites, %v s", got.Sites, got.Seconds)
	}
	if len(got.Faults) == 0 || !strings.HasPrefix(got.Faults[0], "C3: flat") {
		t.Errorf("faults %q, want C3 flat first", got.Faults)
	}
	if share := got.Clipped["P4"]; len(got.Clipped) != 1 || !erptest.Near(share, 50.0/(20*rate), 1e-3) {
		t.Errorf("clipped %v, want P4, 1 %% of the time", got.Clipped)
	}
	// A lasting sine is measured to its amplitude; what white noise adds is
	// smaller.
	if got.Mains != 50 || !erptest.Near(got.Hum, hum, 1.5) {
		t.Errorf("hum of %v µV at %v Hz, want %v at 50", got.Hum, got.Mains, hum)
	}
	if got.Events != 19 || got.Why[reject.OutsideData] != 1 || got.Why[reject.PeakToPeak] == 0 ||
		got.Usable != 19-1-got.Why[reject.PeakToPeak] {
		t.Errorf("%d events, %d usable, lost %v", got.Events, got.Usable, got.Why)
	}
}
