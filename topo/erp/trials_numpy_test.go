package erp

import (
	"math"
	"slices"
	"testing"

	"calotte/topo/erp/epoch"
	"calotte/topo/erp/eye"
	"calotte/topo/erp/montage"
	"calotte/topo/erp/reject"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording"
	"calotte/topo/recording/event"
	"calotte/topo/unit"
)

// What becomes of trials against numpy (testdata/erp/trials.py): which are kept
// by limits from the data and by steps, where epochs lie after a shift of the
// events and about responses, and a reference that is restored.
func TestTrialsAgainstNumpy(t *testing.T) {
	var want map[string]map[string]numpyAverage
	erptest.ReadJSON(t, "trials.json", &want)
	for _, c := range []struct {
		name, reason string
		change       func(p *Pipeline)
	}{
		{"robust", reject.PeakToPeak, func(p *Pipeline) { p.Reject.Robust = true }},
		{"step", reject.StepReason, func(p *Pipeline) { p.Reject.Step = 90 }},
		{"shift", "", func(p *Pipeline) { p.Shift = 0.012 }},
		{"restored", "", func(p *Pipeline) { p.Restore = "TP9" }},
		{"response", "no response", func(p *Pipeline) {
			p.Responses = &Responses{Events: event.Labels("T0"), Within: unit.Span{From: 0, To: 4.15},
				Lock: true}
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			recs := erptest.OpenRecordings(t, "S001R03.edf", "S001R04.edf")
			p := &Pipeline{
				Conditions: []Condition{{"left", event.Labels("T1")}, {"right", event.Labels("T2")}},
				Epoch:      unit.Span{From: -0.2, To: 0.8}, Baseline: &unit.Span{From: -0.2, To: 0},
				Reference: montage.AverageReference,
			}
			c.change(p)
			as := averages(t, p, recs...)
			compareToNumpy(t, as, want[c.name], 1e-9)
			for _, a := range as {
				if n := a.Info.Epochs.Rejected[c.reason]; n != a.Info.Epochs.Lost() {
					t.Errorf("%s: %s, want all for %q", a.Info.Condition, a.Info.Epochs.Reasons(),
						c.reason)
				}
			}
		})
	}
}

// Response times are those between the events, and stand in the rows of the
// index.
func TestResponseTimesInRows(t *testing.T) {
	rec := ramp(t, []string{"Cz"}, erptest.Annotation(1, "a"), erptest.Annotation(1.4, "key"),
		erptest.Annotation(2, "a"), erptest.Annotation(3, "a"), erptest.Annotation(3.05, "key"),
		erptest.Annotation(5, "a"), erptest.Annotation(7.9, "key"))
	p := flat(t, "-100..200ms")
	p.Responses = &Responses{Events: event.Labels("key"), Within: unit.Span{From: 0.1, To: 2}}
	r, err := p.Run(t.Context(), Input{Recording: rec})
	if err != nil {
		t.Fatal(err)
	}
	want := []epoch.Row{
		{Onset: 1, Condition: "x", Response: 0.4, Kept: true},
		{Onset: 2, Condition: "x", Response: math.NaN(), Reason: "no response"},
		{Onset: 3, Condition: "x", Response: 0.05, Reason: "response too early"},
		{Onset: 5, Condition: "x", Response: 2.9, Reason: "response too late"},
	}
	rows := r.Rows("x")
	if len(rows) != len(want) {
		t.Fatalf("%d rows", len(rows))
	}
	for i, w := range want {
		g := rows[i]
		if g.Onset != w.Onset || g.Kept != w.Kept || g.Reason != w.Reason ||
			!erptest.Near(g.Response, w.Response, 1e-9) &&
				!(math.IsNaN(g.Response) && math.IsNaN(w.Response)) {
			t.Errorf("%+v, want %+v", g, w)
		}
	}
	// Not locked: time zero is the event, not the key.
	as, err := r.Averages("sub-01")
	if err != nil {
		t.Fatal(err)
	}
	if got := as[0].Mean[0][10]; !erptest.Near(got, 100, 1e-9) {
		t.Errorf("at zero %v, want that of sample 100", got)
	}
}

// As many epochs in each condition, the same for the same seed, others for
// another, and each of them one that was there before.
func TestSameNumberOfEpochs(t *testing.T) {
	rec := noisy(t, 1, nil)
	run := func(seed uint64, sameNumber bool) [][]epoch.Row {
		p := &Pipeline{
			Conditions: []Condition{{"x", event.Labels("a")}, {"y", selector(t, "b and time:0s..8s")},
				{"both", selector(t, "a and time:0s..12s or b")}},
			Epoch: erptest.Span(t, "-100..300ms"), Reject: Reject{Swing: 110}, SameNumber: sameNumber,
			Seed: seed,
		}
		r, err := p.Run(t.Context(), inputsOf(rec)...)
		if err != nil {
			t.Fatal(err)
		}
		return [][]epoch.Row{r.Rows("x"), r.Rows("y"), r.Rows("both")}
	}
	kept := func(rows []epoch.Row) (onsets []float64) {
		for _, row := range rows {
			if row.Kept {
				onsets = append(onsets, row.Onset)
			}
		}
		return onsets
	}
	whole, one, again, other := run(1, false), run(1, true), run(1, true), run(2, true)
	fewest := len(kept(whole[1]))
	changed := false
	for c := range whole {
		before := kept(whole[c])
		fewest = min(fewest, len(before))
		got := kept(one[c])
		if len(got) != fewest || len(one[c]) != len(whole[c]) {
			t.Errorf("condition %d: %d of %d kept in %d rows, want %d in %d", c, len(got), len(before),
				len(one[c]),
				fewest, len(whole[c]))
		}
		if !slices.Equal(got, kept(again[c])) {
			t.Errorf("condition %d: the same seed draws others", c)
		}
		changed = changed || !slices.Equal(got, kept(other[c]))
		for _, onset := range got {
			if !slices.Contains(before, onset) {
				t.Errorf("condition %d: %v was rejected before", c, onset)
			}
		}
	}
	if fewest == 0 || len(kept(whole[0])) == fewest || !changed {
		t.Errorf("%d, %d epochs: nothing to draw, or another seed draws the same", fewest, len(kept(whole[0])))
	}
}

// The words for limits from the data hold the range of those that there are.
func TestRobustLimitsInWords(t *testing.T) {
	const words = "above the median + 4 × 1.4826 median absolute deviations of the site's peak-to-peak amplitudes"
	for _, c := range []struct {
		found reject.Limits
		want  string
	}{
		{reject.Limits{80.4, math.Inf(1), 120.6}, words + " (80 to 121 µV)"},
		{reject.Limits{math.Inf(1)}, words},
	} {
		if got := (Reject{Robust: true}).describe(c.found); got != c.want {
			t.Errorf("%v: %q, want %q", c.found, got, c.want)
		}
	}
}

// Where one condition keeps nothing, it is the one that the error names.
func TestSameNumberWithNothing(t *testing.T) {
	p := &Pipeline{
		Conditions: []Condition{{"x", event.Labels("a")}, {"y", event.Labels("b")}},
		Epoch:      erptest.Span(t, "-100..300ms"), SameNumber: true,
	}
	rec := noisy(t, 1, nil)
	for _, e := range rec.Events {
		if e.Text == "b" {
			p.Reject.Exclude = append(p.Reject.Exclude, reject.Exclusion{Source: "one.edf", Onset: e.Onset})
		}
	}
	r, err := p.Run(t.Context(), inputsOf(rec)...)
	if err != nil {
		t.Fatal(err)
	}
	_, err = r.Averages("sub-01")
	erptest.WantError(t, err, "condition y kept none of its 19 epochs (19 excluded)")
}

func selector(t *testing.T, text string) event.Selector {
	t.Helper()
	s, err := event.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Blinks that are planted into an eye channel and, smaller, into the sites, are
// gone after the regression, in recordings together: their shares of the
// channel are found.
func TestBlinksThroughThePipeline(t *testing.T) {
	shares := []float64{0.8, 0.3, 0.05, -0.1}
	labels := []string{"Fpz", "Fz", "Cz", "Oz", "EOG VEOG"}
	blinking := func(seed int) Input {
		h := Input{Name: "one.edf"}
		var events = []float64{}
		for k := range 18 {
			events = append(events, 0.5+float64(k)/2)
		}
		rng := func(signal, sample int) float64 { // some µV without a pattern
			x := math.Sin(float64(seed+1)*12.9898*float64(sample+1)+78.233*float64(signal+1)) * 43758.5453
			return 6 * (x - math.Floor(x) - 0.5)
		}
		blink := func(sample int) float64 { // 300 µV for 0.2 s, now and then
			phase := (sample + 7*seed) % 170
			if phase >= 20 {
				return 0
			}
			return 300 * math.Sin(math.Pi*float64(phase)/20)
		}
		header := recording.Header{Records: 10, Signals: erptest.Signals(labels...)}
		var all []recording.Event
		for _, e := range events {
			all = append(all, erptest.Annotation(e, "a"))
		}
		h.Recording = erptest.Open(t, erptest.Write(t, header, func(signal, sample int) float64 {
			if signal == 4 {
				return blink(sample) + rng(signal, sample)
			}
			return shares[signal]*blink(sample) + rng(signal, sample)
		}, all...))
		return h
	}
	inputs := []Input{blinking(0), blinking(1)}
	swing := func(eyes []eye.Channel) []float64 {
		p := &Pipeline{Conditions: []Condition{{"x", event.Labels("a")}}, Epoch: erptest.Span(t, "-100..300ms"),
			Eyes: eyes}
		var largest []float64
		p.Keep = func(_ int, _ Trial, sites [][]float64) error {
			if largest == nil {
				largest = make([]float64, len(sites))
			}
			for i, row := range sites {
				largest[i] = max(largest[i], reject.SwingOf(row))
			}
			return nil
		}
		r, err := p.Run(t.Context(), inputs...)
		if err != nil {
			t.Fatal(err)
		}
		as, err := r.Averages("sub-01")
		if err != nil {
			t.Fatal(err)
		}
		if (as[0].Info.Blinks != "") != (eyes != nil) {
			t.Errorf("blinks %q", as[0].Info.Blinks)
		}
		return largest
	}
	with, without := swing(nil), swing([]eye.Channel{{Plus: "VEOG"}})
	for i, share := range shares {
		if noise := 6 * (1 + 2*math.Abs(share)); without[i] > noise {
			t.Errorf("%s swings by %v µV after the regression, by %v before it; the noise by at most %v",
				labels[i],
				without[i], with[i], noise)
		}
	}
	if with[0] < 200 {
		t.Errorf("Fpz swings by %v µV before the regression", with[0])
	}
}
