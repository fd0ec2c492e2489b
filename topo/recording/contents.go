package recording

import (
	"bytes"
	"cmp"
	"maps"
	"slices"
	"time"
)

// A Summary says what a file holds, without a word of whose it is.
type Summary struct {
	Kind     Kind         `json:"kind"`
	Start    time.Time    `json:"start"`
	Duration float64      `json:"duration"` // recorded time, s
	Channels []Channel    `json:"channels"`
	Events   []EventCount `json:"events"` // by text
	Gaps     []Gap        `json:"gaps"`
	Notes    []string     `json:"notes"`
}

// A Channel is an ordinary signal in brief.
type Channel struct {
	Label string  `json:"label"`
	Unit  string  `json:"unit"`
	Rate  float64 `json:"rate"` // Hz
	Min   float64 `json:"min"`  // smallest and largest value that can be held, Unit; both zero: not stated
	Max   float64 `json:"max"`
}

// An EventCount says how many events have one text.
type EventCount struct {
	Text  string  `json:"text"`
	Count int     `json:"count"`
	First float64 `json:"first"` // onset of the first, s
}

// A Gap is the time between two segments.
type Gap struct {
	Start    float64 `json:"start"`    // s
	Duration float64 `json:"duration"` // s
}

// Summary returns the contents of the file in brief.
func (r *Recording) Summary() Summary {
	s := Summary{Kind: r.Kind, Start: r.Start, Duration: r.Duration(), Events: countEvents(r.Events),
		Gaps:  r.gaps(),
		Notes: r.Notes}
	for i := range r.Signals {
		c := &r.Signals[i]
		s.Channels = append(s.Channels, Channel{c.Label, c.Unit, r.Rate(i),
			min(c.PhysicalMin, c.PhysicalMax), max(c.PhysicalMin, c.PhysicalMax)})
	}
	return s
}

// Recognize reports whether a file with these first bytes takes itself for a
// recording that Open reads. It needs eight of them.
func Recognize(start []byte) bool {
	if len(start) < 8 {
		return false
	}
	version := string(bytes.TrimRight(start[:8], " \x00"))
	for _, f := range families() {
		if f.version == version {
			return true
		}
	}
	return false
}

func countEvents(events []Event) []EventCount {
	counts := map[string]EventCount{}
	for _, e := range events { // in the order of their onsets
		c, seen := counts[e.Text]
		if !seen {
			c = EventCount{Text: e.Text, First: e.Onset}
		}
		c.Count++
		counts[e.Text] = c
	}
	return slices.SortedFunc(maps.Values(counts), func(a, b EventCount) int { return cmp.Compare(a.Text, b.Text) })
}

func (r *Recording) gaps() []Gap {
	var gaps []Gap
	for i := 1; i < len(r.Segments); i++ {
		before := r.Segments[i-1]
		end := before.Start + float64(int64(before.Records)*r.exact)/second
		gaps = append(gaps, Gap{end, r.Segments[i].Start - end})
	}
	return gaps
}
