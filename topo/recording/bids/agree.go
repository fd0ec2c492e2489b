package bids

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"calotte/layout/rowtable"
	"calotte/topo/recording"
)

// An agreement brings a description into a copy of a recording.
type agreement struct {
	description *Description
	recording   *recording.Recording
}

func (a *agreement) note(format string, args ...any) {
	a.recording.Notes = append(a.recording.Notes, printable(fmt.Sprintf(format, args...)))
}

// A tally counts disagreements of one sort and keeps the first as an example.
type tally struct {
	count   int
	example string
}

func (t *tally) add(format string, args ...any) {
	if t.count++; t.count == 1 {
		t.example = fmt.Sprintf(format, args...)
	}
}

// say notes the tally, if it has counted anything.
func (a *agreement) say(t tally, of int, format string) {
	if t.count > 0 {
		a.note(format, t.count, of, t.example)
	}
}

// rateTolerance is by how much rates may differ, relatively, before it is said:
// the sidecar's is often rounded.
const rateTolerance = 1e-4

func sameRate(a, b float64) bool { return math.Abs(a-b) <= rateTolerance*math.Abs(b) }

// channels gives each signal its row, and the signal the row's name and, if
// need be, its unit.
func (a *agreement) channels() []Channel {
	signals, rows := a.recording.Signals, a.description.Channels
	channels := make([]Channel, len(signals))
	if len(rows) == 0 {
		return channels
	}
	m := match(signals, rows)
	var named, given, units, rates, unknown tally
	for i, row := range m.rowOf {
		s := &signals[i]
		if row < 0 {
			unknown.add("%q", s.Label)
			continue
		}
		c := m.rows[row]
		channels[i] = c
		if m.byPlace[i] {
			named.add("%q is %q", s.Label, c.Name)
			s.Label = c.Name
		}
		own, errOwn := recording.Microvolts(s.Unit)
		other, errOther := recording.Microvolts(c.Unit)
		switch {
		case errOther != nil:
		case errOwn != nil:
			given.add("%q: %q becomes %q", s.Label, s.Unit, c.Unit)
			s.Unit = c.Unit
		case own != other:
			units.add("%q: %s, not %s", s.Label, s.Unit, c.Unit)
		}
		if rate := a.recording.Rate(i); c.Rate > 0 && !sameRate(c.Rate, rate) {
			rates.add("%q: %g Hz, not %g Hz", s.Label, rate, c.Rate)
		}
	}
	n := len(signals)
	a.say(named, n, "%d of %d signals have other names in the table of channels: the table's are used (%s)")
	a.say(given, n, "%d of %d signals have a unit in the header that is no voltage: the table's is used (%s)")
	a.say(units, n, "%d of %d signals have another unit in the table of channels: the header's is used (%s)")
	a.say(rates, n, "%d of %d signals have another rate in the table of channels: the header's is used (%s)")
	a.say(unknown, n, "%d of %d signals are not in the table of channels (%s)")
	a.say(m.left, len(m.rows), "%d of %d rows of the table of channels have no signal: passed over (%s)")
	return channels
}

// eeg compares what the JSON says with the recording and the table of channels.
func (a *agreement) eeg(channels []Channel) {
	r, e := a.recording, a.description.EEG
	if len(r.Signals) == 0 {
		return
	}
	first := max(0, slices.IndexFunc(channels, func(c Channel) bool { return c.Type == "EEG" }))
	if rate := r.Rate(first); e.Rate > 0 && !sameRate(e.Rate, rate) {
		a.note("the JSON gives a rate of %g Hz, the header %g Hz: the header's is used", e.Rate, rate)
	}
	if d := r.Duration(); e.Duration > 0 && math.Abs(e.Duration-d) > max(1, r.RecordDuration) {
		a.note("the JSON gives a recorded time of %g s, the header %g s: the header's is used", e.Duration, d)
	}
	switch gaps := len(r.Segments) - 1; {
	case e.Kind == "epoched":
		a.note("the JSON says that the recording is cut into epochs")
	case e.Kind == "continuous" && gaps > 0:
		a.note("the JSON says continuous, the recording has %d gaps: they are respected", gaps)
	}
	if a.description.Channels == nil {
		return
	}
	rows := map[string]int{}
	for _, c := range a.description.Channels {
		rows[c.Type]++
	}
	for _, kind := range slices.Sorted(maps.Keys(e.Counts)) {
		if n := e.Counts[kind]; n != rows[kind] {
			a.note("the JSON counts %d channels of type %s, the table of channels %d: the table's "+
				"types are used",
				n,
				kind, rows[kind])
		}
	}
}

// events puts the table's events in place of the annotations.
func (a *agreement) events() {
	t, r := a.description.Events, a.recording
	if t == nil {
		return
	}
	start := 0.0
	if len(r.Segments) > 0 {
		start = r.Segments[0].Start
	}
	moved := t.From(start)
	if n := len(r.Events); n > 0 && !a.sameEvents(moved) {
		a.note("%d annotations of the recording are left aside: the table of events has %d events", n,
			len(t.Events))
	}
	r.Notes = append(r.Notes, t.Notes...)
	r.Events = moved
	if len(r.Segments) == 0 {
		return
	}
	var outside, samples tally
	for i, e := range r.Events {
		onset := t.Events[i].Onset
		if _, _, ok := r.Sample(e.Onset, 0); !ok {
			outside.add("%g s", onset)
		}
		// Samples count from 0 or, with some programs, from 1; onsets
		// may be rounded.
		text, _ := e.Columns.Get("sample")
		if sample, ok := rowtable.Decimal(text); ok && math.Abs(sample-onset*r.Rate(0)) > 2 {
			samples.add("%g s is not sample %s", onset, text)
		}
	}
	a.say(outside, len(r.Events),
		"%d of %d events lie where nothing was recorded; onsets are s from the first sample (%s)")
	a.say(samples, len(r.Events), "%d of %d events have another sample than their onset: the onset is used (%s)")
}

// sameEvents reports whether a table says what the annotations do: the same
// texts, each within half a sample of the fastest signal.
func (a *agreement) sameEvents(table []recording.Event) bool {
	near := 0.0
	for i := range a.recording.Signals {
		if half := 0.5 / a.recording.Rate(i); near == 0 || half < near {
			near = half
		}
	}
	return slices.EqualFunc(a.recording.Events, table, func(x, y recording.Event) bool {
		return x.Text == y.Text && math.Abs(x.Onset-y.Onset) <= near
	})
}
