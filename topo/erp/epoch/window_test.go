package epoch

import (
	"math"
	"math/big"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"calotte/topo/internal/erptest"
	"calotte/topo/unit"
)

func TestNewWindow(t *testing.T) {
	for _, c := range []struct {
		span        string
		rate        float64
		first, last int
	}{
		{"-200..800ms", 160, -32, 128},
		{"-200..800ms", 500, -100, 400},
		{"-100..600ms", 256, -25, 153},       // −25.6 and 153.6 samples
		{"0..3ms", 1000.0 / 3, 0, 1},         // the last end is a sample
		{"100..700ms", 1000.0 / 3, 34, 233},  // 33.3 and 233.3 samples
		{"1..1.000001s", 1000, 1000, 1000},   // one sample
		{"-300..-100ms", 250, -75, -25},      // before the event
		{"-0.3..0.6s", 10, -3, 6},            // neither end is a binary fraction
		{"1.9999995..5ms", 1000, 2, 5},       // within a millionth of a sample
		{"1.999998..5.000002ms", 1000, 2, 5}, // outside, but so little inside
		{"2.000002..4.999998ms", 1000, 3, 4}, // beyond the tolerance
		{"2.0000005..4.9999995ms", 1000, 2, 5},
	} {
		w, err := NewWindow(erptest.Span(t, c.span), c.rate)
		if err != nil || w.First != c.first || w.Last != c.last {
			t.Errorf("%s at %v Hz: %d to %d, %v, want %d to %d", c.span, c.rate, w.First, w.Last, err,
				c.first,
				c.last)
		}
	}
}

func TestNewWindowRefuses(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		span unit.Span
		rate float64
		want string
	}{
		{unit.Span{From: 0, To: 1}, 0, "sampling rate 0 Hz: expected a positive number"},
		{unit.Span{From: 0, To: 1}, -1, "sampling rate -1 Hz"},
		{unit.Span{From: 0, To: 1}, nan, "sampling rate NaN Hz"},
		{unit.Span{From: 0, To: 1}, inf, "sampling rate +Inf Hz"},
		{unit.Span{From: 0.0011, To: 0.0019}, 1000,
			"no sample between 1.1ms and 1.9ms at 1000 Hz: give a longer range"},
		{unit.Span{From: 1, To: 0}, 1000, "no sample between"},
		{unit.Span{From: unit.Time(nan), To: 1}, 1000, "no sample between"},
		{unit.Span{From: 0, To: unit.Time(nan)}, 1000, "no sample between"},
		{unit.Span{From: 0, To: 1e6}, 1000, "reaches 1e+09 samples from the event"},
		{unit.Span{From: -1e300, To: -1e299}, 1000, "reaches 1e+303 samples"},
		{unit.Span{From: 0, To: unit.Time(inf)}, 1000, "reaches +Inf samples"},
	} {
		_, err := NewWindow(c.span, c.rate)
		erptest.WantError(t, err, c.want)
	}
}

// Against exact arithmetic: sample k at time k/rate belongs to the window if
// and only if it lies in the span or within a millionth of a sample of it.
// Spans that end where rounding decides about a sample are left out.
func TestWindowHoldsEverySample(t *testing.T) {
	tolerance, slack := big.NewRat(1, 1e6), big.NewRat(1, 1e9)
	floor := func(x *big.Rat) int {
		q := new(big.Int).Div(x.Num(), x.Denom()) // Euclidean: the denominator is positive
		return int(q.Int64())
	}
	rapid.Check(t, func(t *rapid.T) {
		// A rate is a whole number of samples in a record of whole
		// milliseconds.
		samples := rapid.Int64Range(1, 5000).Draw(t, "samples")
		duration := rapid.Int64Range(1, 10_000).Draw(t, "duration (ms)")
		rate := big.NewRat(samples*1000, duration)
		float, _ := rate.Float64()
		from := rapid.IntRange(-2_000_000, 2_000_000).Draw(t, "from (µs)")
		to := from + rapid.IntRange(1, 3_000_000).Draw(t, "length (µs)")
		s := unit.Span{From: unit.Time(float64(from) / 1e6), To: unit.Time(float64(to) / 1e6)}

		start := new(big.Rat).Mul(big.NewRat(int64(from), 1e6), rate)
		end := new(big.Rat).Mul(big.NewRat(int64(to), 1e6), rate)
		low, high := new(big.Rat).Sub(start, tolerance), new(big.Rat).Add(end, tolerance)
		for _, edge := range []*big.Rat{low, high} {
			if floor(new(big.Rat).Sub(edge, slack)) != floor(new(big.Rat).Add(edge, slack)) {
				t.Skip("an end within a billionth of a sample of the tolerance")
			}
		}
		first, last := floor(low)+1, floor(high)
		w, err := NewWindow(s, float)
		if last < first {
			if err == nil {
				t.Fatalf("%v at %v Hz: %d to %d, want no sample", s, float, w.First, w.Last)
			}
			return
		}
		if err != nil || w.First != first || w.Last != last {
			t.Fatalf("%v at %v Hz: %d to %d, %v, want %d to %d", s, float, w.First, w.Last, err, first,
				last)
		}
		times := w.Times()
		if len(times) != w.Len() || times[0] != float64(first)/float ||
			times[len(times)-1] != float64(last)/float {
			t.Fatalf("times %v to %v of %d samples", times[0], times[len(times)-1], len(times))
		}
	})
}

func TestWithin(t *testing.T) {
	w, err := NewWindow(erptest.Span(t, "-200..800ms"), 100)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		span     string
		from, to int
	}{
		{"-200..0ms", 0, 21}, {"-200..800ms", 0, 101}, {"790..800ms", 99, 101}, {"-105..-95ms", 10, 11},
	} {
		from, to, err := w.Within(erptest.Span(t, c.span))
		if err != nil || from != c.from || to != c.to {
			t.Errorf("%s: %d to %d, %v, want %d to %d", c.span, from, to, err, c.from, c.to)
		}
		inside := slices.Collect(func(yield func(float64) bool) {
			for _, x := range w.Times() {
				if s := erptest.Span(t, c.span); s.Contains(unit.Time(x)) && !yield(x) {
					return
				}
			}
		})
		if len(inside) != to-from {
			t.Errorf("%s: %d samples, want %d", c.span, to-from, len(inside))
		}
	}
	for text, want := range map[string]string{
		"-300..0ms": "-300..0ms reaches outside the epoch, -200ms..800ms: choose a range inside it",
		"0..810ms":  "reaches outside the epoch",
		"1..2ms":    "no sample between 1ms and 2ms at 100 Hz",
	} {
		_, _, err := w.Within(erptest.Span(t, text))
		erptest.WantError(t, err, want)
	}
}
