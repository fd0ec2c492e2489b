package erp

import (
	"context"
	"slices"

	"calotte/layout"
	"calotte/topo/erp/cause"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/internal/list"
	"calotte/topo/erp/montage"
	"calotte/topo/erp/reject"
	"calotte/topo/erp/screen"
	"calotte/topo/measure"
	"calotte/topo/recording"
	"calotte/topo/recording/event"
	"calotte/topo/unit"
)

// A Checkup says how a recording can be checked before its wearer leaves.
type Checkup struct {
	Surface layout.Surface
	Mains   unit.Frequency // zero: 50 and 60 Hz are looked at, and the louder one is told
	Epoch   unit.Span
	Swing   unit.Voltage // by which an epoch would be rejected
	Events  func(recording.Event) bool
}

// Checked is what a checkup finds.
type Checked struct {
	Seconds float64       `json:"seconds"`
	Sites   int           `json:"sites"`
	Marks   []screen.Mark `json:"-"`
	Faults  []string      `json:"faults"` // the marks in words
	// of the marks and the hum, in the order of seeing to them
	Causes   []cause.Found      `json:"causes"`
	Clipped  map[string]float64 `json:"clipped_share"`      // of the samples, by site; those with any
	Mains    float64            `json:"mains_hz"`           // whose hum is told
	Hum      float64            `json:"hum_median_uv"`      // amplitude, median over sites and seconds
	HumWorst float64            `json:"hum_worst_uv"`       // median over seconds at the worst site
	HumSite  string             `json:"hum_worst_site"`     //
	Events   int                `json:"events"`             // that could be averaged
	Usable   int                `json:"usable_epochs"`      // of these, below the limit after an average reference
	Culprit  string             `json:"culprit,omitempty"`  // the site that rejects the most alone
	Alone    int                `json:"culprit_alone"`      // how many
	Why      map[string]int     `json:"lost_epochs"`        // by reason
	LostTo   []cause.Found      `json:"lost_to"`            // causes of those that swing too much, the most first
	Screened string             `json:"screened,omitempty"` // why electrodes could not be screened
}

// Check passes through a recording twice: in pieces of a second for the
// electrodes and the hum, and in epochs for what would be kept. Its memory does
// not grow with the length.
func (c Checkup) Check(ctx context.Context, in Input) (*Checked, error) {
	m, err := montage.New(in.Signals, montage.Options{Aside: in.NoEEG()})
	if err != nil {
		return nil, err
	}
	out := &Checked{Seconds: in.Duration(), Sites: len(m.Sites), Clipped: map[string]float64{}}
	if err := c.pieces(ctx, in, m, out); err != nil {
		return nil, err
	}
	return out, c.epochs(ctx, in, out)
}

// pieces looks at the seconds.
func (c Checkup) pieces(ctx context.Context, in Input, m *montage.Montage, out *Checked) error {
	w, err := epoch.NewWindow(unit.Span{From: 0, To: 1}, in.Rate(m.Signals[0]))
	if err != nil {
		return err
	}
	w.Last--
	screen, err := screenOf(m, c.Surface)
	if err != nil {
		out.Screened = err.Error()
	}
	pl := &plan{Input: in, montage: m, window: w}
	chain := &chain{montage: m, gains: m.Gains, window: w}
	clipped := reject.NewClipped(list.Pick(in.Signals, m.Signals), clippedSamples)
	ends, total := make([]int, len(m.Signals)), 0
	hum, makeup := newHums(c.Mains, len(m.Sites), w), newMakeup(c.Mains, len(m.Sites), w)
	err = eachPiece(ctx, pl, func(e excerpt) {
		total += w.Len()
		for i, row := range e.samples {
			ends[i] += clipped.Count(i, row)
		}
		rows := chain.potentials(e)
		if screen != nil {
			screen.Add(list.Pick(rows, m.Recorded()))
		}
		hum.add(rows[:len(m.Sites)])
		makeup.add(rows[:len(m.Sites)])
	})
	if err != nil {
		return err
	}
	for i, n := range ends {
		if n > 0 {
			out.Clipped[in.Signals[m.Signals[i]].Label] = float64(n) / float64(total)
		}
	}
	hum.report(out, m.Sites)
	if screen != nil {
		if out.Marks, err = screen.Marks(); err != nil {
			out.Screened = err.Error()
		}
	}
	out.blame(m.Sites, makeup.typical(out.Mains))
	return nil
}

// eachPiece shows a recording second by second, as recorded.
func eachPiece(ctx context.Context, pl *plan, visit func(excerpt)) error {
	n, signal := pl.window.Len(), pl.montage.Signals[0]
	scissor := newScissor(pl.window)
	var onsets []onset
	for s := range pl.Segments {
		for at := 0; at+n <= pl.Samples(s, signal); at += n {
			onsets = append(onsets, onset{segment: s, sample: at})
		}
	}
	for e, err := range ahead(scissor.cut(pl.Blocks(pl.montage.Signals), onsets), readAhead) {
		if err == nil {
			err = ctx.Err()
		}
		if err != nil {
			return err
		}
		visit(e)
		scissor.give(e.samples)
	}
	return nil
}

// anyEvent stands for the labels of all events to be counted, whatever they
// are.
const anyEvent = "all"

// epochs counts what could be kept.
func (c Checkup) epochs(ctx context.Context, in Input, out *Checked) error {
	out.Why = map[string]int{}
	wanted := in
	rec := *in.Recording
	rec.Events = slices.DeleteFunc(slices.Clone(rec.Events), func(e recording.Event) bool { return !c.Events(e) })
	for i := range rec.Events {
		rec.Events[i].Text = anyEvent
	}
	wanted.Recording, wanted.Name = &rec, "" // whoever calls says of which recording an error is
	out.Events = len(rec.Events)
	if out.Events == 0 {
		return nil
	}
	p := &Pipeline{Conditions: []Condition{{Name: anyEvent, Events: event.Labels(anyEvent)}}, Epoch: c.Epoch,
		Reference: montage.AverageReference, Reject: Reject{Swing: c.Swing}}
	if c.Epoch.From < 0 {
		p.Baseline = &unit.Span{From: c.Epoch.From, To: min(0, c.Epoch.To)}
	}
	verdicts, err := c.judge(ctx, p, wanted, out)
	if err != nil {
		return err
	}
	counts := verdicts.Counts(anyEvent)
	out.Usable, out.Why = counts.Kept, counts.Rejected
	for _, t := range verdicts.Tallies() {
		if t.Alone > out.Alone {
			out.Culprit, out.Alone = t.Site, t.Alone
		}
	}
	return nil
}

// hums follows the amplitude of the mains second by second.
type hums struct {
	frequencies []float64
	meters      []*measure.HumMeter
	each        [][][]float64 // frequency × site × second
}

// mostSeconds bounds how many seconds a hum is looked at: what an hour does not
// show the next one will not.
const mostSeconds = 3600

func newHums(mains unit.Frequency, sites int, w epoch.Window) *hums {
	h := &hums{}
	wanted := []float64{float64(mains)}
	if mains == 0 {
		wanted = []float64{50, 60}
	}
	for _, f := range wanted {
		meter, err := measure.NewHumMeter(w.Len(), w.Rate, f)
		if err != nil {
			continue // it cannot be seen at this rate
		}
		h.frequencies, h.meters, h.each = append(h.frequencies, f), append(h.meters, meter), append(h.each,
			make([][]float64, sites))
	}
	return h
}

func (h *hums) add(rows [][]float64) {
	for k, meter := range h.meters {
		if len(h.each[k][0]) == mostSeconds {
			return
		}
		for i, row := range rows {
			h.each[k][i] = append(h.each[k][i], meter.Amplitude(row))
		}
	}
}

// report tells of the louder frequency: over all sites, unless it is large at
// one.
func (h *hums) report(out *Checked, sites []string) {
	loudest := -1.
	for _, f := range h.frequencies {
		medians := h.medians(f)
		worst := slices.Index(medians, slices.Max(medians))
		if worst < 0 {
			continue // nothing was recorded
		}
		most, middle := medians[worst], measure.Median(medians)
		loud := middle
		if cause.Hum(middle, most) != "" {
			loud += most
		}
		if loud > loudest {
			loudest = loud
			out.Mains, out.Hum, out.HumWorst, out.HumSite = f, middle, most, sites[worst]
		}
	}
}

// medians are those over the seconds, at a frequency that is looked at, of each
// site.
func (h *hums) medians(frequency float64) []float64 {
	var medians []float64
	for _, each := range h.each[slices.Index(h.frequencies, frequency)] {
		medians = append(medians, measure.Median(each))
	}
	return medians
}
