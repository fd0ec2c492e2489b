package erp

import (
	"bytes"
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo/erp/montage"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording"
	"calotte/topo/unit"
)

func TestRunRefuses(t *testing.T) {
	rec := ramp(t, []string{"Fz", "Cz", "Pz", "Oz", "M1"}, erptest.Annotation(5, "a"))
	sphere := head.Sphere(90)
	for _, c := range []struct {
		change func(p *Pipeline)
		want   string
	}{
		{func(p *Pipeline) { p.Epoch = erptest.Span(t, "1..2ms") },
			"epoch: no sample between 1ms and 2ms at 100 Hz"},
		{func(p *Pipeline) { p.Epoch = erptest.Span(t, "0..5ms") },
			"epoch: 0..5ms holds one sample at 100 Hz: give a longer range"},
		{func(p *Pipeline) { s := erptest.Span(t, "-500..0ms"); p.Baseline = &s },
			"baseline: -500..0ms reaches outside the epoch, -200ms..800ms"},
		{func(p *Pipeline) {
			s := erptest.Span(t, "-200..0ms")
			p.Baseline, p.Epoch = &s, erptest.Span(t, "50..800ms")
		},
			"baseline: -200..0ms is not in the epoch, which begins after the event: subtract none, or " +
				"choose a range " +
				"inside 50ms..800ms"},
		{func(p *Pipeline) { p.Reference.Set("M2") },
			"reference: the recording has no M2: it has Fz Cz Pz Oz M1"},
		{func(p *Pipeline) { p.Repair = Repair{Sites: []layout.Name{"C4"}, Surface: sphere} },
			"repair: the recording has no C4"},
		{func(p *Pipeline) { p.Repair = Repair{Sites: []layout.Name{"M1"}, Surface: sphere} },
			"repair: M1 is no scalp site"},
		{func(p *Pipeline) { p.Repair = Repair{Sites: []layout.Name{"Cz", "Cz"}, Surface: sphere} },
			`repair: site "Cz" is given twice`},
		{func(p *Pipeline) { p.Repair = Repair{Sites: []layout.Name{"Cz"}} },
			"repair: where the sites are is not known: give a head"},
		{func(p *Pipeline) { p.Repair = Repair{Sites: []layout.Name{"Fz", "Cz", "Pz", "Oz"}, Surface: sphere} },
			"repair: "},
		{func(p *Pipeline) { p.Reject.Swing = -5 }, "rejection above -5uV: expected a positive amplitude"},
		{func(p *Pipeline) { p.Reject.Swing = unit.Voltage(math.NaN()) }, "expected a positive amplitude"},
	} {
		p := flat(t, "-200..800ms")
		c.change(p)
		_, err := p.Run(context.Background(), Input{Recording: rec})
		erptest.WantError(t, err, c.want)
	}
	p := flat(t, "-200..800ms")
	p.Reference = montage.AverageReference
	_, err := p.Run(context.Background(), Input{Recording: ramp(t, []string{"Cz", "M1"})})
	erptest.WantError(t, err, "reference: the average of one site is zero: give another reference")
	_, err = p.Run(context.Background(), Input{Recording: ramp(t, []string{"ECG"})})
	erptest.WantError(t, err, "named after a scalp site")

	mixed := recording.Header{Records: 2,
		Signals: []recording.Signal{erptest.Signal("Fz", 100), erptest.Signal("Cz", 200)}}
	_, err = p.Run(context.Background(),
		Input{Recording: erptest.Open(t,
			erptest.Write(t, mixed, func(int, int) float64 { return 0 }, erptest.Annotation(1, "a")))})
	erptest.WantError(t, err, "different sampling rates")
}

// An epoch far longer than the recording is counted, not given memory.
func TestRunWithAnEndlessEpoch(t *testing.T) {
	p := flat(t, "-200..800000000ms")
	r, err := p.Run(context.Background(),
		Input{Recording: ramp(t, []string{"C3", "C4"}, erptest.Annotation(5, "a"))})
	if err != nil {
		t.Fatal(err)
	}
	_, err = r.Averages("sub-01")
	erptest.WantError(t, err, "condition x kept none of its 1 epoch (1 outside the data)")
}

func TestRunStopsWithTheContext(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := flat(t, "0..100ms").Run(ctx,
		Input{Recording: ramp(t, []string{"Cz"}, erptest.Annotation(5, "a"))}); !errors.Is(err,
		context.Canceled) {
		t.Errorf("%v, want %v", err, context.Canceled)
	}
}

func TestRunPassesReadErrorsOn(t *testing.T) {
	file := erptest.Write(t, recording.Header{Records: 600, Signals: erptest.Signals("Cz", "Pz", "Oz", "Fz")},
		func(int, int) float64 { return 0 },
		erptest.Annotation(1, "a"), erptest.Annotation(590, "a"))
	source := &failing{bytes.NewReader(file), int64(len(file))}
	rec, err := recording.Open(source, int64(len(file)), recording.Options{})
	if err != nil {
		t.Fatal(err)
	}
	source.until = int64(len(file)) / 2
	if _, err := flat(t, "0..100ms").Run(context.Background(), Input{Recording: rec}); !errors.Is(err,
		erptest.ErrRead) {
		t.Errorf("%v, want %v", err, erptest.ErrRead)
	}
}

// failing reads up to an offset.
type failing struct {
	*bytes.Reader
	until int64
}

func (f *failing) ReadAt(b []byte, offset int64) (int, error) {
	if offset+int64(len(b)) > f.until {
		return 0, erptest.ErrRead
	}
	return f.Reader.ReadAt(b, offset)
}

// What was never filled in is an error, not a death.
func TestEmptyValuesAreRefused(t *testing.T) {
	p := *flat(t, "0..50ms")
	if _, err := p.Run(t.Context(), Input{Name: "rec.edf"}); err == nil ||
		!strings.Contains(err.Error(), `"rec.edf"`) {
		t.Errorf("an input without a recording: %v", err)
	}
	if _, err := (&Result{}).Averages("sub-01"); err == nil {
		t.Error("an empty result has averages")
	}
}
