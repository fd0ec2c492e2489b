package erp

import (
	"bytes"
	"context"
	"slices"
	"testing"

	"calotte/topo/recording/event"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo/erp/internal/screentest"
	"calotte/topo/erp/reject"
	"calotte/topo/erp/screen"
	"calotte/topo/filter"
	"calotte/topo/forward/study"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording"
	"calotte/topo/unit"
)

// demoSession is the recording of one participant of the invented study,
// counted from 0.
func demoSession(tb testing.TB, participant int) *recording.Recording {
	tb.Helper()
	s, err := study.New(1)
	if err != nil {
		tb.Fatal(err)
	}
	var file bytes.Buffer
	if err := s.Participants()[participant].Write(&file); err != nil {
		tb.Fatal(err)
	}
	return erptest.Open(tb, file.Bytes())
}

// The electrode that fails in one participant of the invented study is found,
// and nothing else in it or in others.
func TestScreenOfTheStudy(t *testing.T) {
	for participant, want := range map[int]string{1: "", 4: "", 6: "F6"} {
		sites, pieces := screentest.Seconds(t, demoSession(t, participant))
		marks := screened(t, sites, pieces)
		t.Logf("participant %d: %v", participant+1, marks)
		if want == "" && len(marks) > 0 ||
			want != "" && (len(marks) != 1 || marks[0].Site != want || marks[0].Reason != screen.Noisy) {
			t.Errorf("participant %d: %v, want %q", participant+1, marks, want)
		}
	}
}

// What the advice says comes true: against the recorded reference, where a
// repair changes no other site, repairing the failing electrode brings back
// exactly as many epochs as its gain.
func TestAdviceComesTrue(t *testing.T) {
	rec := demoSession(t, 6)
	p := &Pipeline{Conditions: []Condition{{"both", event.Labels(study.Known, study.Novel)}},
		Epoch: unit.Span{From: -0.2, To: 0.6}, Baseline: &unit.Span{From: -0.2, To: 0},
		Reject: Reject{Swing: 150}}
	before, err := p.Run(context.Background(), Input{Recording: rec})
	if err != nil {
		t.Fatal(err)
	}
	m := before.Montage
	rules := []reject.Rule{reject.Swing{Limits: reject.Limits{150}}}
	var r reject.Rejections
	epochsOf(t, rec, m.Signals, before.Window, func(text string, x [][]float64) {
		if text == study.Known || text == study.Novel {
			r.Verdicts = append(r.Verdicts,
				reject.Verdict{Conditions: []string{text},
					Faults: reject.Judge(rules, m.Sites, x, nil)})
		}
	})
	advice, ok := r.Advise()
	t.Logf("%v; %v", advice, r.Tallies()[:4])
	if !ok || !slices.Equal(advice.Sites, []string{"F6"}) ||
		r.Lost() != before.Counts[0].Rejected[reject.PeakToPeak] {
		t.Fatalf("%+v of %d, want F6 of %d", advice, r.Lost(), before.Counts[0].Rejected[reject.PeakToPeak])
	}
	p.Repair = Repair{Sites: []layout.Name{"F6"}, Surface: head.Sphere(erptest.HeadRadius)}
	after, err := p.Run(context.Background(), Input{Recording: rec})
	if err != nil {
		t.Fatal(err)
	}
	if gain := after.Counts[0].Kept - before.Counts[0].Kept; gain != advice.Gain {
		t.Errorf("%d more epochs kept, want %d", gain, advice.Gain)
	}
}

// Blinks among the epochs make no bad electrode of a sound one.
func TestScreenLeavesBlinksAlone(t *testing.T) {
	for _, participant := range []int{0, 1, 3} { // the third blinks more than most
		p := &Pipeline{Conditions: []Condition{{"both", event.Labels(study.Known, study.Novel)}},
			Filter: filter.Design{HighPass: 0.1, LowPass: 30}, Epoch: unit.Span{From: -0.2, To: 0.8},
			Repair: Repair{Found: true, Surface: head.Sphere(erptest.HeadRadius)}}
		r, err := p.Run(context.Background(), Input{Recording: demoSession(t, participant)})
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Repaired) > 0 {
			t.Errorf("participant %d: %+v", participant+1, r.Repaired)
		}
	}
}

func screened(tb testing.TB, sites []layout.Site, pieces [][][]float64) []screen.Mark {
	tb.Helper()
	s, err := screen.New(sites)
	if err != nil {
		tb.Fatal(err)
	}
	for _, p := range pieces {
		s.Add(p)
	}
	marks, err := s.Marks()
	if err != nil {
		tb.Fatal(err)
	}
	return marks
}
