package filter

import "math"

// A convolver convolves pairs of signals circularly with one symmetric real
// kernel, by a Fourier transform there and back.
//
// A pair travels as the real and imaginary part of one complex signal: what a
// real kernel does to the two stays apart. The spectrum of a kernel symmetric
// about zero is real, so that the product costs two multiplications a
// frequency. The way there is decimated in frequency and leaves the
// frequencies in an order of its own, the way back takes them in that order:
// nothing is ever sorted. Both run depth first, so that the parts of a long
// transform stay in the cache from the way there to the way back.
type convolver struct {
	size     int         // samples: a power of two, at least 4
	twiddles [][]float64 // for each step of four, the longest first: turn
	spectrum []float64   // of the kernel, divided by size, in the order of forward
}

// newConvolver takes the first half of the kernel's taps from its centre:
// tap 0, then the taps on both sides of it.
func newConvolver(size int, half []float64) *convolver {
	c := &convolver{size: size}
	for n := size; n > 4; n /= 4 {
		c.twiddles = append(c.twiddles, turns(n))
	}
	c.spectrum = make([]float64, size)
	imaginary := make([]float64, size)
	for k, h := range half {
		c.spectrum[k] = h / float64(size)
		c.spectrum[(size-k)%size] = h / float64(size)
	}
	c.forward(c.spectrum, imaginary, 0)
	return c
}

// turns returns cosine and sine of −2πjk/n for k = 1, 2, 3, for each j below n/4.
func turns(n int) []float64 {
	w := make([]float64, 0, 6*(n/4))
	for j := range n / 4 {
		for k := 1; k <= 3; k++ {
			sin, cos := math.Sincos(-2 * math.Pi * float64(j*k) / float64(n))
			w = append(w, cos, sin)
		}
	}
	return w
}

// pair replaces two signals of the convolver's size by their convolutions.
func (c *convolver) pair(a, b []float64) { c.run(a, b, c.spectrum, 0) }

// run convolves what a step of the way there has left, at one depth.
func (c *convolver) run(re, im, spectrum []float64, depth int) {
	n := len(re)
	if n <= 4 {
		leaf(re, im, spectrum)
		return
	}
	w := c.twiddles[depth]
	apart(re, im, w)
	q := n / 4
	if q == 4 {
		leaves(re, im, spectrum)
	} else {
		for o := 0; o < n; o += q {
			c.run(re[o:o+q], im[o:o+q], spectrum[o:o+q], depth+1)
		}
	}
	together(re, im, w)
}

// forward transforms only.
func (c *convolver) forward(re, im []float64, depth int) {
	switch n := len(re); n {
	case 2:
		re[0], re[1] = re[0]+re[1], re[0]-re[1]
		im[0], im[1] = im[0]+im[1], im[0]-im[1]
	default:
		w := []float64{1, 0, 1, 0, 1, 0}
		if n > 4 {
			w = c.twiddles[depth]
		}
		apart(re, im, w)
		if n > 4 {
			for o := 0; o < n; o += n / 4 {
				c.forward(re[o:o+n/4], im[o:o+n/4], depth+1)
			}
		}
	}
}

// apart is a step of the way there: it splits a transform into four of a quarter
// of its length.
func apart(re, im, w []float64) {
	q := len(re) / 4
	r0, r1, r2, r3 := re[:q], re[q:][:q], re[2*q:][:q], re[3*q:][:q]
	i0, i1, i2, i3 := im[:q], im[q:][:q], im[2*q:][:q], im[3*q:][:q]
	for j := range r0 {
		t := w[:6:6]
		w = w[6:]
		ar, ai := r0[j]+r2[j], i0[j]+i2[j]
		br, bi := r0[j]-r2[j], i0[j]-i2[j]
		cr, ci := r1[j]+r3[j], i1[j]+i3[j]
		dr, di := r1[j]-r3[j], i1[j]-i3[j]
		r0[j], i0[j] = ar+cr, ai+ci
		r1[j], i1[j] = turn(br+di, bi-dr, t[0], t[1])
		r2[j], i2[j] = turn(ar-cr, ai-ci, t[2], t[3])
		r3[j], i3[j] = turn(br-di, bi+dr, t[4], t[5])
	}
}

// together undoes apart, but for a factor of four.
func together(re, im, w []float64) {
	q := len(re) / 4
	r0, r1, r2, r3 := re[:q], re[q:][:q], re[2*q:][:q], re[3*q:][:q]
	i0, i1, i2, i3 := im[:q], im[q:][:q], im[2*q:][:q], im[3*q:][:q]
	for j := range r0 {
		t := w[:6:6]
		w = w[6:]
		er, ei := turn(r1[j], i1[j], t[0], -t[1])
		fr, fi := turn(r2[j], i2[j], t[2], -t[3])
		gr, gi := turn(r3[j], i3[j], t[4], -t[5])
		ar, ai := r0[j]+fr, i0[j]+fi
		br, bi := r0[j]-fr, i0[j]-fi
		cr, ci := er+gr, ei+gi
		dr, di := er-gr, ei-gi
		r0[j], i0[j] = ar+cr, ai+ci
		r1[j], i1[j] = br-di, bi+dr
		r2[j], i2[j] = ar-cr, ai-ci
		r3[j], i3[j] = br+di, bi-dr
	}
}

func turn(re, im, cos, sin float64) (float64, float64) {
	return re*cos - im*sin, re*sin + im*cos
}

// leaves convolves four runs of four samples.
func leaves(re, im, spectrum []float64) {
	for o := 0; o+4 <= len(re); o += 4 {
		leaf4((*[4]float64)(re[o:]), (*[4]float64)(im[o:]), (*[4]float64)(spectrum[o:]))
	}
}

// leaf convolves two or four samples.
func leaf(re, im, spectrum []float64) {
	if len(re) == 4 {
		leaves(re, im, spectrum)
		return
	}
	r0, r1 := (re[0]+re[1])*spectrum[0], (re[0]-re[1])*spectrum[1]
	i0, i1 := (im[0]+im[1])*spectrum[0], (im[0]-im[1])*spectrum[1]
	re[0], re[1] = r0+r1, r0-r1
	im[0], im[1] = i0+i1, i0-i1
}

func leaf4(r, i, h *[4]float64) {
	ar, ai := r[0]+r[2], i[0]+i[2]
	br, bi := r[0]-r[2], i[0]-i[2]
	cr, ci := r[1]+r[3], i[1]+i[3]
	dr, di := r[1]-r[3], i[1]-i[3]
	xr, xi := (ar+cr)*h[0], (ai+ci)*h[0]
	er, ei := (br+di)*h[1], (bi-dr)*h[1]
	fr, fi := (ar-cr)*h[2], (ai-ci)*h[2]
	gr, gi := (br-di)*h[3], (bi+dr)*h[3]
	ar, ai = xr+fr, xi+fi
	br, bi = xr-fr, xi-fi
	cr, ci = er+gr, ei+gi
	dr, di = er-gr, ei-gi
	r[0], i[0] = ar+cr, ai+ci
	r[1], i[1] = br-di, bi+dr
	r[2], i[2] = ar-cr, ai-ci
	r[3], i[3] = br+di, bi-dr
}
