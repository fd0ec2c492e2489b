package measure

import (
	"errors"
	"math"

	"calotte/topo/unit"
)

// A Wave is values in µV at times in s, equally far apart.
type Wave struct{ Times, Values []float64 }

// window is the samples in a span, its ends included: from first up to before
// last.
func (w Wave) window(s unit.Span) (first, last int) {
	const tolerance = 1e-9 // s
	first = len(w.Times)
	for i, t := range w.Times {
		if t >= float64(s.From)-tolerance && t <= float64(s.To)+tolerance {
			first, last = min(first, i), i+1
		}
	}
	return min(first, last), last
}

// Reasons why a component has no number.
var (
	ErrNoSample = errors.New("no sample in the window")
	ErrNoPeak   = errors.New("no local peak in the window")
	ErrEdge     = errors.New("largest at the window's edge")
	ErrNoArea   = errors.New("no area of this polarity")
	ErrNoOnset  = errors.New("does not fall to that fraction before the peak")
	// ErrOtherSign is of a local extremum that does not reach beyond zero,
	// a trough of a positive deflection for one: nothing of the polarity
	// begins there.
	ErrOtherSign = errors.New("the peak is of the other sign")
)

// Mean is that of all samples in the window, in µV.
func (w Wave) Mean(s unit.Span) (float64, error) {
	first, last := w.window(s)
	if first == last {
		return 0, ErrNoSample
	}
	sum := 0.
	for _, v := range w.Values[first:last] {
		sum += v
	}
	return sum / float64(last-first), nil
}

// An Extremum is a peak: when it is, in s, and its amplitude in µV.
type Extremum struct {
	Latency, Amplitude float64
	sample             int
	sign               float64 // of the polarity that it is an extremum of
}

// flank is how long a stretch on each side a peak has to exceed the mean of, in
// s.
const flank = .012

// Peak is the largest local extremum of a polarity in the window: a sample that
// exceeds both its neighbours and the mean of the 12 ms on each side, refined
// by the parabola through it and its neighbours; where several samples at the
// top are equal, as in rounded tables, it is their middle. Either is the larger
// of both polarities. Where the largest value lies at the window's edge without
// being a local extremum, and no extremum inside is there, the error is
// ErrEdge.
func (w Wave) Peak(s unit.Span, p Polarity) (Extremum, error) {
	if p == Either {
		up, upErr := w.Peak(s, Positive)
		down, downErr := w.Peak(s, Negative)
		switch {
		case upErr != nil:
			return down, downErr
		case downErr != nil || up.Amplitude >= -down.Amplitude:
			return up, nil
		}
		return down, nil
	}
	first, last := w.window(s)
	if first == last {
		return Extremum{}, ErrNoSample
	}
	sign := p.sign()
	best, largest := -1, first
	for i := first; i < last; i++ {
		if sign*w.Values[i] > sign*w.Values[largest] {
			largest = i
		}
		if w.isPeak(i, w.top(i), sign) && (best < 0 || sign*w.Values[i] > sign*w.Values[best]) {
			best = i
		}
	}
	switch {
	case best >= 0:
		peak := w.refined(best, w.top(best))
		peak.sign = sign
		return peak, nil
	case largest == first || largest == last-1:
		return Extremum{}, ErrEdge
	}
	return Extremum{}, ErrNoPeak
}

func (p Polarity) sign() float64 {
	if p == Negative {
		return -1
	}
	return 1
}

// top is the last of the samples from i on that are equal to it.
func (w Wave) top(i int) int {
	for i+1 < len(w.Values) && w.Values[i+1] == w.Values[i] {
		i++
	}
	return i
}

// isPeak reports whether equal samples, i to j, exceed their neighbours and the
// means beside them.
func (w Wave) isPeak(i, j int, sign float64) bool {
	if i == 0 || j == len(w.Values)-1 {
		return false
	}
	v := sign * w.Values[i]
	if !(v > sign*w.Values[i-1] && v > sign*w.Values[j+1]) {
		return false
	}
	n := max(1, int(math.Round(flank/(w.Times[1]-w.Times[0]))))
	for _, part := range [][]float64{w.Values[max(0, i-n):i], w.Values[j+1 : min(len(w.Values), j+1+n)]} {
		mean := 0.
		for _, x := range part {
			mean += sign * x / float64(len(part))
		}
		if !(v > mean) {
			return false
		}
	}
	return true
}

// refined is the vertex of the parabola through a sample and its neighbours, or
// the middle of equal samples, i to j.
func (w Wave) refined(i, j int) Extremum {
	if j > i {
		return Extremum{Latency: (w.Times[i] + w.Times[j]) / 2, Amplitude: w.Values[i], sample: i}
	}
	a, b, c := w.Values[i-1], w.Values[i], w.Values[i+1]
	shift := (a - c) / (2 * (a - 2*b + c))
	step := w.Times[1] - w.Times[0]
	return Extremum{Latency: w.Times[i] + shift*step, Amplitude: b - (a-c)*shift/4, sample: i}
}

// Onset is when, going backwards from the vertex of a peak, the wave falls
// below a fraction of the peak's amplitude, in s: the crossing by a straight
// line between two samples, or between the vertex and the sample before it. The
// wave is beyond the fraction all the way from there to the vertex.
func (w Wave) Onset(peak Extremum, fraction float64) (float64, error) {
	level := fraction * peak.Amplitude
	sign := math.Copysign(1, peak.Amplitude)
	if sign != peak.sign {
		return 0, ErrOtherSign
	}
	time, above := peak.Latency, sign*(peak.Amplitude-level)
	for i := w.before(peak); i >= 0; i-- {
		below := sign * (w.Values[i] - level)
		if below <= 0 {
			return w.Times[i] + (time-w.Times[i])*below/(below-above), nil
		}
		time, above = w.Times[i], below
	}
	return 0, ErrNoOnset
}

// before is the last sample before the vertex of a peak.
func (w Wave) before(peak Extremum) int {
	if peak.Latency <= w.Times[peak.sample] {
		return peak.sample - 1
	}
	return peak.sample
}

// Dissimilarity of two maps is the root mean square of their difference, each
// divided by its field power: 0 for one shape, 2 for opposite ones (Lehmann &
// Skrandies 1980). It is NaN where a map is flat.
func Dissimilarity(a, b []float64) float64 {
	pa, pb := FieldPower(a), FieldPower(b)
	ma, mb := 0., 0.
	for i := range a {
		ma += a[i] / float64(len(a))
		mb += b[i] / float64(len(b))
	}
	sum := 0.
	for i := range a {
		d := (a[i]-ma)/pa - (b[i]-mb)/pb
		sum += d * d
	}
	return math.Sqrt(sum / float64(len(a)))
}

// JackknifeError is the standard error of a score of n averages, from the
// scores of the n averages that each leave one out (Miller, Patterson and
// Ulrich 1998): their spread is n−1 times too small.
func JackknifeError(scores []float64) float64 {
	n := float64(len(scores))
	mean, squares := 0., 0.
	for _, s := range scores {
		mean += s / n
	}
	for _, s := range scores {
		squares += (s - mean) * (s - mean)
	}
	return math.Sqrt((n - 1) / n * squares)
}
