package filter

import "math"

// All kernels are symmetric; these functions return tap 0 and the taps on one
// side of it, reach+1 numbers.

// lowPass is a windowed sinc with gain 1 at 0 Hz.
func lowPass(cutoff, rate float64, reach int) []float64 {
	h := windowed(reach, func(k int) float64 { return sinc(cutoff, rate, k) })
	scale(h, 1/sum(h))
	return h
}

// highPass is an impulse minus a low-pass: its gain at 0 Hz is 0.
func highPass(cutoff, rate float64, reach int) []float64 {
	h := lowPass(cutoff, rate, reach)
	scale(h, -1)
	h[0]++
	return h
}

// notch is an impulse minus a band around each multiple of the mains frequency
// below half the rate, with gain 1 at 0 Hz.
func notch(mains, rate float64, reach int) []float64 {
	h := windowed(reach, func(k int) float64 {
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
		if upper+notchTransition/2 > rate/2 {
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
