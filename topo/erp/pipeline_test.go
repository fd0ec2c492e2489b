package erp

import (
	"bytes"
	"context"
	"maps"
	"slices"
	"strings"
	"testing"

	"calotte/topo/recording/event"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo/erp/average"
	"calotte/topo/erp/reject"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording"
	"calotte/topo/unit"
)

// flat is a pipeline for one condition x of the events "a".
func flat(t *testing.T, epoch string) *Pipeline {
	return &Pipeline{Conditions: []Condition{{"x", event.Labels("a")}}, Epoch: erptest.Span(t, epoch)}
}

// ramp is a recording at 100 Hz of ten seconds whose value is the sample's
// index times the signal's number, in steps of 0.1 µV.
func ramp(t *testing.T, labels []string, events ...recording.Event) *recording.Recording {
	h := recording.Header{Records: 10, Signals: erptest.Signals(labels...)}
	return erptest.Open(t, erptest.Write(t, h,
		func(signal, sample int) float64 { return float64(sample) * float64(signal+1) }, events...))
}

func TestRunCountsWhatLiesOutside(t *testing.T) {
	// Samples 20 to 920 can be the event's with −200..790 ms in 1,000
	// samples.
	p := flat(t, "-200..790ms")
	rec := ramp(t, []string{"Cz"},
		erptest.Annotation(0.19, "a"), erptest.Annotation(0.2, "a"), erptest.Annotation(5, "a"),
		erptest.Annotation(9.2, "a"), erptest.Annotation(9.21, "a"), erptest.Annotation(12, "a"),
		erptest.Annotation(9.9, "b"))
	r, err := p.Run(context.Background(), Input{Recording: rec})
	if err != nil {
		t.Fatal(err)
	}
	if c := r.Counts[0]; c.Kept != 3 || c.Rejected[reject.OutsideData] != 3 || c.Lost() != 3 {
		t.Errorf("%+v, want 3 kept and 3 outside", c)
	}
	as, err := r.Averages("sub-01")
	if err != nil {
		t.Fatal(err)
	}
	a := as[0]
	if len(a.Times) != 100 || a.Times[0] != -0.2 || a.Times[99] != 0.79 {
		t.Fatalf("%d samples from %v to %v", len(a.Times), a.Times[0], a.Times[len(a.Times)-1])
	}
	for k, x := range a.Mean[0] { // of the ramps that begin at samples 0, 480 and 900
		if want := 460 + float64(k); !erptest.Near(x, want, 1e-9) {
			t.Fatalf("sample %d: %v, want %v", k, x, want)
		}
	}
}

// An event that is marked twice, or by two labels of the condition, is one
// epoch.
func TestRepeatedEventsCountOnce(t *testing.T) {
	p := &Pipeline{Conditions: []Condition{{"x", event.Labels("a", "S1")}, {"y", event.Labels("S1")}},
		Epoch: erptest.Span(t, "0..100ms")}
	rec := ramp(t, []string{"Cz"}, erptest.Annotation(1, "a"), erptest.Annotation(1, "S1"),
		erptest.Annotation(2, "a"),
		erptest.Annotation(2, "a"), erptest.Annotation(2.001, "a"), erptest.Annotation(3, "a"))
	r, err := p.Run(context.Background(), Input{Recording: rec})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []average.Counts{{Kept: 3, Rejected: map[string]int{reject.Repeated: 3}},
		{Kept: 1, Rejected: nil}} {
		if got := r.Counts[i]; got.Kept != want.Kept || !maps.Equal(got.Rejected, want.Rejected) {
			t.Errorf("condition %d: %+v, want %+v", i, got, want)
		}
	}
	as, err := r.Averages("sub-01")
	if err != nil {
		t.Fatal(err)
	}
	if got := as[0].Mean[0][0]; !erptest.Near(got, 200, 1e-9) {
		t.Errorf("mean %v, want that of samples 100, 200 and 300", got)
	}
	x, y := as[0].Info, as[1].Info
	if !slices.Equal(x.Labels, []string{"a", "S1"}) || !slices.Equal(x.Shares, []string{"y"}) ||
		!slices.Equal(y.Shares, []string{"x"}) {
		t.Errorf("labels %v, shared with %v and %v", x.Labels, x.Shares, y.Shares)
	}
}

// The gap of an EDF+D file: no epoch may bridge it, and both sides count from
// their own start.
func TestRunRespectsGaps(t *testing.T) {
	h := recording.Header{Records: 6, Signals: erptest.Signals("Cz"), AnnotationBytes: 64}
	file := erptest.Write(t, h, func(_, sample int) float64 { return float64(sample) },
		erptest.Annotation(0.5, "a"),
		erptest.Annotation(2.5, "a"), erptest.Annotation(2.8, "a"))
	copy(file[192:], "EDF+D")
	for from, to := range map[string]string{"+3": "+7", "+4": "+8", "+5": "+9"} { // the records' own times
		tal := []byte(from + "\x14\x14")
		if bytes.Count(file, tal) != 1 {
			t.Fatalf("%d records at %s", bytes.Count(file, tal), from)
		}
		copy(file[bytes.Index(file, tal):], to)
	}
	rec := erptest.Open(t, file)
	if len(rec.Segments) != 2 {
		t.Fatalf("%d segments, want 2", len(rec.Segments))
	}
	// unsorted
	rec.Events = append(rec.Events, erptest.Annotation(7, "a"), erptest.Annotation(7.3, "a"),
		erptest.Annotation(5, "a"), erptest.Annotation(9.5, "a"))
	p := flat(t, "-200..300ms")
	r, err := p.Run(context.Background(), Input{Recording: rec})
	if err != nil {
		t.Fatal(err)
	}
	// Inside: 0.5, 2.5, 7.3 and 9.5 s. 2.8 s ends, 7 s begins in the gap; 5
	// s is in it.
	if c := r.Counts[0]; c.Kept != 4 || c.Rejected[reject.AcrossGap] != 3 {
		t.Errorf("%+v, want 4 kept and 3 across the gap", c)
	}
	as, err := r.Averages("sub-01")
	if err != nil {
		t.Fatal(err)
	}
	// Their first samples in the file: 30, 230, 310 and 530.
	for k, x := range as[0].Mean[0] {
		if want := 275 + float64(k); !erptest.Near(x, want, 1e-9) {
			t.Fatalf("sample %d: %v, want %v", k, x, want)
		}
	}
}

// Units, reference, baseline and pairs by hand, for one epoch.
func TestRunByHand(t *testing.T) {
	h := recording.Header{Records: 2, Signals: erptest.Signals("C3", "EOG", "C4", "M1", "Cz")}
	h.Signals[2].Unit = "mV"
	// C3, C4, M1 and Cz at sample k: k, 2k mV, 3 and −1.
	rec := erptest.Open(t, erptest.Write(t, h, func(signal, sample int) float64 {
		return [5]float64{float64(sample), 1000, 2 * float64(sample), 3, -1}[signal]
	}, erptest.Annotation(0.5, "a")))
	for _, c := range []struct {
		reference string
		baseline  string
		c3, c4    float64 // at 10 ms, sample 51
	}{
		{"recorded", "", 51, 102_000},
		{"M1", "", 48, 101_997},
		{"Cz,M1", "", 50, 101_999},
		{"average", "", 51 - (51+102_000-1)/3.0, 102_000 - (51+102_000-1)/3.0},
		{"recorded", "0..10ms", 0.5, 1000},
		{"recorded", "-10..10ms", 1, 2000},
	} {
		p := flat(t, "-10..20ms")
		if err := p.Reference.Set(c.reference); err != nil {
			t.Fatal(err)
		}
		if c.baseline != "" {
			s := erptest.Span(t, c.baseline)
			p.Baseline = &s
		}
		a := averages(t, p, rec)[0]
		if strings.Join(a.Sites, " ") != "C3 C4 Cz" || a.SEM != nil || a.Pairs.SEM != nil {
			t.Errorf("sites %v, SEM %v", a.Sites, a.SEM)
		}
		if got := a.Mean; !erptest.Near(got[0][2], c.c3, 1e-9) || !erptest.Near(got[1][2], c.c4, 1e-7) {
			t.Errorf("%s, baseline %q: C3 %v, C4 %v, want %v and %v", c.reference, c.baseline, got[0][2],
				got[1][2],
				c.c3, c.c4)
		}
		if got := a.Pairs; len(got.Names) != 1 || got.Names[0] != "C4-C3" ||
			!erptest.Near(got.Mean[0][2], c.c4-c.c3, 1e-7) {
			t.Errorf("%s: %v %v, want C4-C3 %v", c.reference, got.Names, got.Mean[0][2], c.c4-c.c3)
		}
		want := "none"
		if c.baseline != "" {
			want = c.baseline
		}
		if a.Info.Baseline != want {
			t.Errorf("baseline %q, want %q", a.Info.Baseline, want)
		}
		if note := "the sites were recorded in different units, uV, mV, and brought to µV"; !slices.Equal(a.Info.Notes,
			[]string{note}) {
			t.Errorf("notes %q, want %q", a.Info.Notes, note)
		}
	}
}

// An epoch is rejected where a site swings by more than the limit, in at least
// one sample; ears, other signals and repaired sites do not count.
func TestReject(t *testing.T) {
	labels := []string{"F3", "Fz", "F4", "C3", "Cz", "C4", "P3", "Pz", "P4", "M1", "ECG"}
	spike := func(at int) *recording.Recording { // of 100 µV in one sample of one signal
		h := recording.Header{Records: 4, Signals: erptest.Signals(labels...)}
		return erptest.Open(t, erptest.Write(t, h, func(signal, sample int) float64 {
			if signal == at && sample == 210 {
				return 100
			}
			return 0
		}, erptest.Annotation(1, "a"), erptest.Annotation(2, "a")))
	}
	for _, c := range []struct {
		at     string
		reject unit.Voltage
		repair string
		kept   int
	}{
		{"Cz", 99, "", 1}, {"Cz", 100, "", 2}, {"Cz", 0, "", 2}, {"P4", 99, "", 1},
		{"M1", 50, "", 2}, {"ECG", 50, "", 2},
		{"Cz", 99, "Cz", 2}, {"Cz", 99, "Pz", 1},
	} {
		p := flat(t, "0..200ms")
		p.Reject.Swing = c.reject
		if c.repair != "" {
			p.Repair = Repair{Sites: []layout.Name{layout.Name(c.repair)}, Surface: head.Sphere(90)}
		}
		at := 0
		for labels[at] != c.at {
			at++
		}
		r, err := p.Run(context.Background(), Input{Recording: spike(at)})
		if err != nil {
			t.Fatal(err)
		}
		if got := r.Counts[0]; got.Kept != c.kept || got.Rejected[reject.PeakToPeak] != 2-c.kept {
			t.Errorf("100 µV at %s, limit %v, %s repaired: %+v, want %d kept", c.at, c.reject, c.repair,
				got,
				c.kept)
		}
	}
}

// A constant potential is repaired to itself, several sites at once, and the
// info says so.
func TestRepairOfAConstant(t *testing.T) {
	labels := []string{"F3", "Fz", "F4", "C3", "Cz", "C4", "P3", "Pz", "P4"}
	h := recording.Header{Records: 2, Signals: erptest.Signals(labels...)}
	rec := erptest.Open(t, erptest.Write(t, h, func(signal, _ int) float64 {
		if labels[signal] == "Cz" || labels[signal] == "P4" {
			return 3000
		}
		return 7
	}, erptest.Annotation(1, "a")))
	p := flat(t, "0..100ms")
	p.Repair = Repair{Sites: []layout.Name{"P4", "Cz"}, Surface: head.Sphere(90)}
	a := averages(t, p, rec)[0]
	for i, row := range a.Mean {
		for _, x := range row {
			if !erptest.Near(x, 7, 1e-9) {
				t.Fatalf("%s: %v, want 7", a.Sites[i], x)
			}
		}
	}
	if got := strings.Join(a.Info.Repaired, " "); got != "P4 Cz" {
		t.Errorf("repaired %q", got)
	}
}
