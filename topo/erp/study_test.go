package erp

import (
	"bytes"
	"math"
	"testing"

	"calotte/topo/recording/event"

	"calotte/topo/erp/average"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/erp/montage"
	"calotte/topo/forward/study"
	"calotte/topo/internal/erptest"
	"calotte/topo/unit"
)

// recovery compares an average with what was planted, in standard errors: root
// mean square and largest |z| of z = (mean − planted)/SEM over sites and
// samples.
type recovery struct{ rms, worst float64 }

func (r recovery) agrees() bool { return r.rms > 0.7 && r.rms < 1.4 && r.worst < 6 }

func compare(a *average.Average, planted [][]float64) recovery {
	var r recovery
	var squares float64
	for i, row := range a.Mean {
		for k, x := range row {
			z := (x - planted[i][k]) / a.SEM[i][k]
			squares += z * z
			r.worst = max(r.worst, math.Abs(z))
		}
	}
	r.rms = math.Sqrt(squares / float64(len(a.Mean)*len(a.Times)))
	return r
}

// planted is the participant's response at the average's sites and times, some
// samples late, with its baseline subtracted.
func planted(t *testing.T, p *study.Participant, condition string, a *average.Average, late int) [][]float64 {
	t.Helper()
	times := make([]float64, len(a.Times))
	for k, x := range a.Times {
		times[k] = x - float64(late)/study.SampleRate
	}
	evoked, err := p.Evoked(condition, a.Sites, times)
	if err != nil {
		t.Fatal(err)
	}
	out := matrix.New(len(a.Sites), len(times))
	for i, row := range out {
		for k := range row {
			row[k] = evoked.At(i, k)
		}
		mean := 0.0
		for _, x := range row[:51] { // −200 to 0 ms
			mean += x / 51
		}
		for k := range row {
			row[k] -= mean
		}
	}
	return out
}

// One participant of the invented study. If mean and standard error are right,
// z = (mean − planted)/SEM has a root mean square near 1. It wanders, since the
// noise is correlated over sites and time: 0.7 to 1.4, half to double the
// variance, was set before looking. No |z| is beyond 6: for Student's t with 80
// degrees of freedom the chance is below 1e-7 a value, 1 in 700 for all 12,864.
//
// The check can fail: against nothing, against the response upside down, and
// against one that comes 40 ms late, which is what lost events, a wrong sign
// and an epoch that begins elsewhere would be, the same average does not pass.
func TestAverageRecoversThePlantedResponse(t *testing.T) {
	s, err := study.New(1)
	if err != nil {
		t.Fatal(err)
	}
	person := s.Participants()[0]
	var file bytes.Buffer
	if err := person.Write(&file); err != nil {
		t.Fatal(err)
	}
	p := &Pipeline{
		Conditions: []Condition{{study.Known, event.Labels(study.Known)},
			{study.Novel, event.Labels(study.Novel)}},
		Epoch: unit.Span{From: -0.2, To: 0.6}, Baseline: &unit.Span{From: -0.2, To: 0},
		Reference: montage.AverageReference, Reject: Reject{Swing: 150},
	}
	for _, a := range averages(t, p, erptest.Open(t, file.Bytes())) {
		if !a.Info.Synthetic || len(a.Sites) != 64 || a.Info.Epochs.Kept < 80 {
			t.Fatalf("%d sites, %+v", len(a.Sites), *a.Info.Epochs)
		}
		condition := a.Info.Condition
		truth := planted(t, person, condition, a, 0)
		r := compare(a, truth)
		t.Logf("%s, %d epochs: %+v", condition, a.Info.Epochs.Kept, r)
		if !r.agrees() {
			t.Errorf("%s: %+v, want agreement with what was planted", condition, r)
		}
		upsideDown := matrix.New(len(truth), len(truth[0]))
		for i := range truth {
			for k, x := range truth[i] {
				upsideDown[i][k] = -x
			}
		}
		for what, wrong := range map[string][][]float64{
			"nothing": matrix.New(len(truth), len(truth[0])), "upside down": upsideDown,
			"late": planted(t, person, condition, a, 10),
		} {
			r := compare(a, wrong)
			t.Logf("%s, %s: %+v", condition, what, r)
			if r.agrees() {
				t.Errorf("%s, %s: %+v agrees as well", condition, what, r)
			}
		}
	}
}
