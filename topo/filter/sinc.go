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
	edge := cutoff + transition/2
	stop := band{edge, min(edge+crests*transition, rate/2)}
	return lengthened(reachOf(transition, rate), rate, []band{stop}, func(reach int) []float64 {
		return unitSinc(cutoff, rate, reach)
	})
}

func unitSinc(cutoff, rate float64, reach int) []float64 {
	h := windowed(reach, func(k int) float64 { return sinc(cutoff, rate, k) })
	scale(h, 1/sum(h))
	return h
}

// highPass is an impulse minus a low-pass: its gain at 0 Hz is 0.
func highPass(cutoff, transition, rate float64) []float64 {
	edge := cutoff - transition/2
	stops := []band{{0, min(crests*transition, edge)}, {max(0, edge-crests*transition), edge}}
	return lengthened(reachOf(transition, rate), rate, stops, func(reach int) []float64 {
		h := unitSinc(cutoff, rate, reach)
		scale(h, -1)
		h[0]++
		return h
	})
}

// crests is how far from an edge, in transitions, the highest ripples are.
const crests = 3

// notch is an impulse minus a band around each multiple of the mains frequency
// below half the rate, with gain 1 at 0 Hz.
func notch(mains, transition, rate float64) []float64 {
	var edges, stops []band
	for m := mains; m < rate/2; m = mains * float64(len(edges)+1) {
		edge, stop := band{m - notchReach, m + notchReach}, band{m - notchReach + transition/2,
			m + notchReach - transition/2}
		if edge[1]+transition > rate/2 { // no room for the upper edge
			edge[1], stop[1] = rate/2, rate/2
		}
		edges, stops = append(edges, edge), append(stops, stop)
	}
	return lengthened(reachOf(transition, rate), rate, stops, func(reach int) []float64 {
		h := windowed(reach, func(k int) float64 {
			x := impulse(k)
			for _, e := range edges {
				x += sinc(e[0], rate, k) - sinc(e[1], rate, k)
			}
			return x
		})
		scale(h, 1/sum(h))
		return h
	})
}

// A band is a stretch of frequencies, Hz.
type band [2]float64

// mostLeak is the largest gain in a stop band, −50 dB and a margin for looking
// at it in steps.
const mostLeak = 0.0031

// lengthened builds a filter of the given reach or, if its stop bands leak, of
// the next longer one that does not; a third longer has always been enough. The
// ripple of the Hamming window is 53 dB down, but the ripples of two edges add
// up, and scaling to gain 1 at 0 Hz lifts all of them where 0 Hz lies on a
// crest. A few more taps put the crests elsewhere. The most usual designs do
// not need them: a high-pass with a transition as wide as its cut-off, a
// low-pass far below half the rate, a notch at 50 or 60 Hz.
func lengthened(reach int, rate float64, stops []band, build func(reach int) []float64) []float64 {
	for longest := 2 * reach; ; reach += max(1, reach/100) {
		h := build(reach)
		if leak(h, rate, stops) <= mostLeak || reach >= longest {
			return h
		}
	}
}

// leak returns the largest gain in bands, edges included, looked for sixteen
// times within each ripple.
func leak(half []float64, rate float64, bands []band) float64 {
	largest := 0.0
	for _, b := range bands {
		steps := math.Ceil((b[1] - b[0]) / rate * float64(32*len(half)))
		for i := range int(steps) + 1 {
			at := b[0] + (b[1]-b[0])*float64(i)/steps
			largest = max(largest, math.Abs(response(half, 2*math.Pi*at/rate)))
		}
	}
	return largest
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
