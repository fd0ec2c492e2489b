package filter

import "math"

// All kernels are symmetric; these functions return tap 0 and the taps on one
// side of it, reach+1 numbers.

// hammingWidth is the transition of a filter of N taps with the Hamming window,
// in units of rate/N.
const hammingWidth = 3.3

// reachOf returns how many samples a filter reaches to each side of its middle:
// the fewest for which the transition is no wider than asked for. Cut-offs are
// decimal fractions, so that whole numbers need a tolerance.
func reachOf(transition, rate float64) int {
	return max(1, int(math.Ceil((hammingWidth*rate/transition-1)/2-1e-6)))
}

// lowPass is a windowed sinc with gain 1 at 0 Hz.
func lowPass(cutoff, transition, rate float64) []float64 {
	return unitSinc(cutoff, rate, reachOf(transition, rate))
}

func unitSinc(cutoff, rate float64, reach int) []float64 {
	h := windowed(reach, func(k int) float64 { return sinc(cutoff, rate, k) })
	scale(h, 1/sum(h))
	return h
}

// mostLeak is the largest gain allowed in the stop band of a high-pass, −50 dB
// and a margin for looking at it in steps.
const mostLeak = 0.0031

// highPass is an impulse minus a low-pass: its gain at 0 Hz is 0. The ripple of
// the low-pass becomes the gain in the stop band, and where 0 Hz lies on a crest
// of it, scaling to gain 1 there lifts the rest. Then a slightly longer filter
// is taken, whose ripple lies elsewhere. (A transition as wide as the cut-off,
// the default up to 2 Hz, does not need it.)
func highPass(cutoff, transition, rate float64) []float64 {
	for reach := reachOf(transition, rate); ; reach += max(1, reach/100) {
		h := unitSinc(cutoff, rate, reach)
		scale(h, -1)
		h[0]++
		if leak(h, cutoff-transition/2, rate) <= mostLeak {
			return h
		}
	}
}

// leak returns the largest gain below a frequency, looked for eight times within
// each ripple.
func leak(half []float64, below, rate float64) float64 {
	largest, step := 0.0, rate/float64(16*len(half))
	for at := below; at > 0; at -= step {
		largest = max(largest, math.Abs(response(half, 2*math.Pi*at/rate)))
	}
	return largest
}

// notch is an impulse minus a band around each multiple of the mains frequency
// below half the rate, with gain 1 at 0 Hz.
func notch(mains, transition, rate float64) []float64 {
	h := windowed(reachOf(transition, rate), func(k int) float64 {
		x := impulse(k)
		for _, b := range stops(mains, rate) {
			x += sinc(b[0], rate, k) - sinc(b[1], rate, k)
		}
		return x
	})
	scale(h, 1/sum(h))
	return h
}

// stops returns the cut-offs around each multiple of the mains frequency, Hz. A
// band without room for its upper edge ends at half the rate.
func stops(mains, rate float64) [][2]float64 {
	var bands [][2]float64
	for m := mains; m < rate/2; m = mains * float64(len(bands)+1) {
		upper := m + notchReach
		if upper+notchTransition > rate/2 {
			upper = rate / 2
		}
		bands = append(bands, [2]float64{m - notchReach, upper})
	}
	return bands
}

// sinc is the impulse response of the ideal low-pass, at k samples. At half the
// rate it lets everything pass.
func sinc(cutoff, rate float64, k int) float64 {
	switch {
	case cutoff == rate/2:
		return impulse(k)
	case k == 0:
		return 2 * cutoff / rate
	}
	return math.Sin(2*math.Pi*cutoff/rate*float64(k)) / (math.Pi * float64(k))
}

func impulse(k int) float64 {
	if k == 0 {
		return 1
	}
	return 0
}

// windowed multiplies an impulse response by the Hamming window.
func windowed(reach int, response func(k int) float64) []float64 {
	h := make([]float64, reach+1)
	for k := range h {
		h[k] = response(k) * (0.54 + 0.46*math.Cos(math.Pi*float64(k)/float64(reach)))
	}
	return h
}

// sum adds up all taps of a kernel given by one half: its gain at 0 Hz.
func sum(half []float64) float64 {
	s := half[0]
	for _, h := range half[1:] {
		s += 2 * h
	}
	return s
}

func scale(h []float64, factor float64) {
	for k := range h {
		h[k] *= factor
	}
}
