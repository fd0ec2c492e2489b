package measure

import (
	"fmt"
	"math"

	"calotte/topo/unit"
)

// Area is that between the wave and zero in the window, of one polarity only,
// in µV·s, by trapezoids; of Either both count. Where the window ends between
// samples, a straight line gives the value there.
func (w Wave) Area(s unit.Span, p Polarity) (float64, error) {
	sums, _, err := w.areas(s, p)
	if err != nil {
		return 0, err
	}
	return sums[len(sums)-1], nil
}

// FractionalArea is when the area has reached a fraction of itself, between 0
// and 1, in s, by a straight line within a sample's share.
func (w Wave) FractionalArea(s unit.Span, p Polarity, fraction float64) (float64, error) {
	if !(fraction > 0 && fraction <= 1) {
		return 0, fmt.Errorf("a fraction of %g of an area: expected more than 0, and 1 at most", fraction)
	}
	sums, times, err := w.areas(s, p)
	if err != nil {
		return 0, err
	}
	target := fraction * sums[len(sums)-1]
	if !(target > 0) {
		return 0, ErrNoArea
	}
	for i := 1; i < len(sums); i++ {
		if sums[i] >= target {
			return between(target, sums[i-1], sums[i], times[i-1], times[i]), nil
		}
	}
	return times[len(times)-1], nil
}

// areas are the areas up to each of the times: the window's two ends, and the
// samples between them.
func (w Wave) areas(s unit.Span, p Polarity) (sums, times []float64, err error) {
	times, values := w.cut(s)
	if len(times) < 2 {
		return nil, nil, ErrNoSample
	}
	sums = make([]float64, len(times))
	for i := 1; i < len(times); i++ {
		step := times[i] - times[i-1]
		sums[i] = sums[i-1] + step*(p.part(values[i])+p.part(values[i-1]))/2
	}
	return sums, times, nil
}

// part is how far a value is from zero in the polarity.
func (p Polarity) part(v float64) float64 {
	switch p {
	case Positive:
		return max(v, 0)
	case Negative:
		return max(-v, 0)
	}
	return math.Abs(v)
}

// cut is the wave from one end of a span to the other, as far as it reaches: a
// mean over 150 to 190 ms at 250 Hz is of the samples from 152 to 188 ms, but
// an area without what lies beyond them would be a tenth too small.
func (w Wave) cut(s unit.Span) (times, values []float64) {
	first, last := w.window(s)
	if first == last {
		return nil, nil
	}
	add := func(time, value float64) { times, values = append(times, time), append(values, value) }
	if from := float64(s.From); first > 0 && from < w.Times[first] {
		add(from, between(from, w.Times[first-1], w.Times[first], w.Values[first-1], w.Values[first]))
	}
	for i := first; i < last; i++ {
		add(w.Times[i], w.Values[i])
	}
	if to := float64(s.To); last < len(w.Times) && to > w.Times[last-1] {
		add(to, between(to, w.Times[last-1], w.Times[last], w.Values[last-1], w.Values[last]))
	}
	return times, values
}

// between is y at x on the straight line from (x0, y0) to (x1, y1).
func between(x, x0, x1, y0, y1 float64) float64 {
	return y0 + (y1-y0)*(x-x0)/(x1-x0)
}
