package unit

import (
	"fmt"
	"strings"
)

// A Span is a stretch of time with both its ends: -200..800ms. The first number
// may leave its unit to the second.
type Span struct{ From, To Time }

// Contains reports whether t lies in the span, ends included.
func (s Span) Contains(t Time) bool { return s.From <= t && t <= s.To }

func (s Span) String() string {
	from := shift(float64(s.From), -timeDimension.scales[0].exponent)
	return from + ".." + s.To.String()
}

// Set reads two times joined by two dots, the earlier one first.
func (s *Span) Set(text string) error {
	from, to, ok := strings.Cut(text, "..")
	if !ok {
		return fmt.Errorf("%q is no range: expected two times such as -200..800ms", text)
	}
	var v Span
	if err := v.To.Set(to); err != nil {
		return fmt.Errorf("end of range %q: %w", text, err)
	}
	number, symbol, err := split(from)
	if err == nil && symbol == "" {
		_, symbol, _ = split(to)
		from = number + symbol
	}
	if err := v.From.Set(from); err != nil {
		return fmt.Errorf("start of range %q: %w", text, err)
	}
	switch {
	case v.From > v.To:
		return fmt.Errorf("range %q runs backwards: write %v", text, Span{v.To, v.From})
	case v.From == v.To:
		return fmt.Errorf("range %q is empty: its ends are the same", text)
	}
	*s = v
	return nil
}

func (s Span) Type() string                     { return "range" }
func (s Span) MarshalText() ([]byte, error)     { return []byte(s.String()), nil }
func (s *Span) UnmarshalText(text []byte) error { return s.Set(string(text)) }

// A Latency is an instant, 170ms, or a window whose mean is taken, 150..190ms.
// An instant has both ends at one time.
type Latency struct{ Span }

// At is an instant.
func At(t Time) Latency { return Latency{Span{t, t}} }

// Over is a window, whose mean is taken.
func Over(from, to Time) Latency { return Latency{Span{from, to}} }

// IsWindow reports whether the latency stands for the mean of a window.
func (l Latency) IsWindow() bool { return l.From != l.To }

func (l Latency) String() string {
	if l.IsWindow() {
		return l.Span.String()
	}
	return l.From.String()
}

// Label is the latency as people read it: 170 ms, −50 ms, 150–190 ms. A window
// with a negative end says "to", where a dash would be one minus too many.
func (l Latency) Label() string {
	from := shift(float64(l.From), 3)
	if !l.IsWindow() {
		return typographic(from) + " ms"
	}
	joint := "–"
	if l.From < 0 {
		joint = " to "
	}
	return typographic(from) + joint + typographic(shift(float64(l.To), 3)) + " ms"
}

func typographic(number string) string { return strings.Replace(number, "-", "−", 1) }

// Set reads one time or a range.
func (l *Latency) Set(text string) error {
	if strings.Contains(text, "..") {
		return l.Span.Set(text)
	}
	var t Time
	if err := t.Set(text); err != nil {
		return err
	}
	l.Span = Span{t, t}
	return nil
}

func (l Latency) Type() string                     { return "latency" }
func (l Latency) MarshalText() ([]byte, error)     { return []byte(l.String()), nil }
func (l *Latency) UnmarshalText(text []byte) error { return l.Set(string(text)) }

// Latencies is a list joined by commas: 100ms,170ms,150..190ms.
type Latencies []Latency

func (ls Latencies) String() string {
	texts := make([]string, len(ls))
	for i, l := range ls {
		texts[i] = l.String()
	}
	return strings.Join(texts, ",")
}

// Set reads a list of latencies and appends it, so that a flag may be repeated.
// A latency given twice is an error.
func (ls *Latencies) Set(text string) error {
	added := append(Latencies(nil), *ls...)
	for item := range strings.SplitSeq(text, ",") {
		if strings.TrimSpace(item) == "" {
			return fmt.Errorf("%q: nothing between two commas", text)
		}
		var l Latency
		if err := l.Set(item); err != nil {
			return listError(text, err)
		}
		for _, other := range added {
			if other == l {
				return fmt.Errorf("latency %v is given twice", l)
			}
		}
		added = append(added, l)
	}
	*ls = added
	return nil
}

// listError explains a failed item of a list; a comma inside the list may be a
// decimal comma, which only the whole text shows.
func listError(text string, err error) error {
	return fmt.Errorf("%w (in the list %q; decimals take a point)", err, text)
}

func (ls Latencies) Type() string                 { return "latencies" }
func (ls Latencies) MarshalText() ([]byte, error) { return []byte(ls.String()), nil }
func (ls *Latencies) UnmarshalText(text []byte) error {
	*ls = nil
	return ls.Set(string(text))
}
