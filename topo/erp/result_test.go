package erp

import (
	"context"
	"strings"
	"testing"

	"calotte/topo/erp/average"
	"calotte/topo/erp/reject"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording"
)

func result(t *testing.T, p *Pipeline, rec *recording.Recording) *Result {
	t.Helper()
	r, err := p.Run(context.Background(), Input{Recording: rec})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Two recordings pooled are one recording of both.
func TestMergePools(t *testing.T) {
	p := flat(t, "0..50ms")
	labels := []string{"C3", "C4"}
	both := averages(t, p, ramp(t, labels, erptest.Annotation(1, "a"), erptest.Annotation(2, "a"),
		erptest.Annotation(4, "a"), erptest.Annotation(20, "a")))[0]
	pooled := averages(t, p, ramp(t, labels, erptest.Annotation(1, "a"), erptest.Annotation(4, "a")),
		ramp(t, labels, erptest.Annotation(2, "a"), erptest.Annotation(20, "a")))[0]
	if pooled.Info.Epochs.Kept != 3 || pooled.Info.Epochs.Rejected[reject.OutsideData] != 1 {
		t.Errorf("%+v, want 3 kept, 1 outside", *pooled.Info.Epochs)
	}
	for i := range both.Mean {
		for j := range both.Mean[i] {
			if !erptest.Near(pooled.Mean[i][j], both.Mean[i][j], 1e-9) ||
				!erptest.Near(pooled.SEM[i][j], both.SEM[i][j], 1e-9) {
				t.Fatalf("%v ± %v, want %v ± %v", pooled.Mean[i][j], pooled.SEM[i][j], both.Mean[i][j],
					both.SEM[i][j])
			}
		}
	}
	if got, want := pooled.Pairs.SEM[0][3], both.Pairs.SEM[0][3]; !erptest.Near(got, want, 1e-9) || want == 0 {
		t.Errorf("SEM of the pair %v, want %v", got, want)
	}
}

func TestRunRefusesUnlikeRecordings(t *testing.T) {
	p := flat(t, "0..50ms")
	first := Input{Recording: ramp(t, []string{"C3", "C4"}, erptest.Annotation(1, "a")), Name: "one.edf"}
	rate := recording.Header{Records: 10,
		Signals: []recording.Signal{erptest.Signal("C3", 200), erptest.Signal("C4", 200)}}
	for want, other := range map[string]*recording.Recording{
		"two.edf: sites differ from those of the first recording (C4 is missing, Cz is new): average " +
			"recordings of one cap": ramp(t, []string{"C3", "Cz"}),
		"(their order)": ramp(t, []string{"C4", "C3"}),
		"sampling rate 200 Hz differs from the first recording's 100 Hz": erptest.Open(t,
			erptest.Write(t, rate, func(int, int) float64 { return 0 })),
		`reference "LE" differs from the first recording's ""`: ramp(t, []string{"C3-LE", "C4-LE"}),
	} {
		_, err := p.Run(context.Background(), first, Input{Recording: other, Name: "two.edf"})
		erptest.WantError(t, err, want)
	}
}

func TestAveragesWithoutEpochs(t *testing.T) {
	p := flat(t, "0..50ms")
	p.Reject.Swing = 1
	r := result(t, p, ramp(t, []string{"Cz"}, erptest.Annotation(1, "a"), erptest.Annotation(2, "a"),
		erptest.Annotation(12, "a")))
	_, err := r.Averages("sub-01")
	erptest.WantError(t, err,
		"condition x kept none of its 3 epochs (1 outside the data, 2 peak to peak; most at Cz (2)): change")
	r = result(t, p, ramp(t, []string{"Cz"}, erptest.Annotation(1, "b")))
	_, err = r.Averages("sub-01")
	erptest.WantError(t, err, "kept none of its 0 epochs (there are none)")
}

// Averages of one result do not share what can be changed.
func TestAveragesAreIndependent(t *testing.T) {
	p := flat(t, "0..50ms")
	r := result(t, p, ramp(t, []string{"C3", "C4"}, erptest.Annotation(1, "a"), erptest.Annotation(2, "a"),
		erptest.Annotation(12, "a")))
	spoil := func() {
		as, err := r.Averages("sub-01")
		if err != nil {
			t.Fatal(err)
		}
		a := as[0]
		if a.Sites[0] != "C3" || a.Times[0] != 0 || a.Mean[0][0] != 150 || a.SEM[0][0] != 50 ||
			a.Pairs.Mean[0][0] != 150 || a.Info.Epochs.Lost() != 1 {
			t.Errorf("%v %v %v ± %v, %v, %+v", a.Sites, a.Times[0], a.Mean[0][0], a.SEM[0][0],
				a.Pairs.Mean[0][0],
				*a.Info.Epochs)
		}
		a.Sites[0], a.Times[0], a.Mean[0][0], a.SEM[0][0], a.Pairs.Mean[0][0] = "?", -1, -1, -1, -1
		a.Info.Epochs.Rejected[reject.OutsideData] = 9
	}
	spoil()
	spoil()
}

func TestInfoOfTheRecording(t *testing.T) {
	h := recording.Header{Records: 2, Signals: erptest.Signals("C3", "C4", "ECG"),
		Recording: "Startdate X X X Synthetic"}
	h.Signals[0].Prefilter, h.Signals[1].Prefilter, h.Signals[2].Prefilter = "HP:0.1Hz LP:75Hz Hemlich", "None",
		"HP:5Hz"
	a := averages(t, flat(t, "0..50ms"),
		erptest.Open(t, erptest.Write(t, h, func(int, int) float64 { return 0 },
			erptest.Annotation(1, "a"))))[0]
	if !a.Info.Synthetic || a.Info.Filters != "none; the amplifier's: high-pass 0.1 Hz, low-pass 75 Hz" {
		t.Errorf("synthetic %v, filters %q", a.Info.Synthetic, a.Info.Filters)
	}
	if a.Info.Kind != average.Participant || a.Info.Name != "sub-01" || a.Info.Rate != 100 || a.Rate() != 100 {
		t.Errorf("%+v", a.Info)
	}
	if got := strings.Join(a.Sites, " "); got != "C3 C4" {
		t.Errorf("sites %s", got)
	}
}
