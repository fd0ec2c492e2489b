package filter

// halve is a step of the way there: it leaves two transforms of half the
// length.
func halve(re, im []float64, w [][2]float64) {
	n := len(re) / 2
	r0, r1 := re[:n], re[n:][:n]
	i0, i1 := im[:n], im[n:][:n]
	w = w[:n]
	for j := range r0 {
		t := &w[j]
		ar, ai := r0[j]-r1[j], i0[j]-i1[j]
		r0[j], i0[j] = r0[j]+r1[j], i0[j]+i1[j]
		r1[j], i1[j] = turn(ar, ai, t[0], t[1])
	}
}

// join undoes halve, but for a factor of two.
func join(re, im []float64, w [][2]float64) {
	n := len(re) / 2
	r0, r1 := re[:n], re[n:][:n]
	i0, i1 := im[:n], im[n:][:n]
	w = w[:n]
	for j := range r0 {
		t := &w[j]
		ar, ai := turn(r1[j], i1[j], t[0], -t[1])
		r0[j], i0[j], r1[j], i1[j] = r0[j]+ar, i0[j]+ai, r0[j]-ar, i0[j]-ai
	}
}

// quarter is a step of the way there: it leaves four transforms of a quarter of
// the length.
func quarter(re, im []float64, w [][6]float64) {
	q := len(re) / 4
	r0, r1, r2, r3 := re[:q], re[q:][:q], re[2*q:][:q], re[3*q:][:q]
	i0, i1, i2, i3 := im[:q], im[q:][:q], im[2*q:][:q], im[3*q:][:q]
	w = w[:q]
	for j := range r0 {
		t := &w[j]
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

// unite undoes quarter, but for a factor of four.
func unite(re, im []float64, w [][6]float64) {
	q := len(re) / 4
	r0, r1, r2, r3 := re[:q], re[q:][:q], re[2*q:][:q], re[3*q:][:q]
	i0, i1, i2, i3 := im[:q], im[q:][:q], im[2*q:][:q], im[3*q:][:q]
	w = w[:q]
	for j := range r0 {
		t := &w[j]
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

// leaf goes all the way there and back: quarter, four times a transform of four
// samples, the product with the spectrum and the way back, unite. Written out
// for arrays, since the bounds of so many short slices cost a tenth of the
// whole.
func leaf(r, i, h *[leafSize]float64, w *[4][6]float64) {
	for j := range 4 {
		t := &w[j]
		ar, ai := r[j]+r[8+j], i[j]+i[8+j]
		br, bi := r[j]-r[8+j], i[j]-i[8+j]
		cr, ci := r[4+j]+r[12+j], i[4+j]+i[12+j]
		dr, di := r[4+j]-r[12+j], i[4+j]-i[12+j]
		r[j], i[j] = ar+cr, ai+ci
		r[4+j], i[4+j] = turn(br+di, bi-dr, t[0], t[1])
		r[8+j], i[8+j] = turn(ar-cr, ai-ci, t[2], t[3])
		r[12+j], i[12+j] = turn(br-di, bi+dr, t[4], t[5])
	}
	for o := 0; o < leafSize; o += 4 {
		four((*[4]float64)(r[o:]), (*[4]float64)(i[o:]), (*[4]float64)(h[o:]))
	}
	for j := range 4 {
		t := &w[j]
		er, ei := turn(r[4+j], i[4+j], t[0], -t[1])
		fr, fi := turn(r[8+j], i[8+j], t[2], -t[3])
		gr, gi := turn(r[12+j], i[12+j], t[4], -t[5])
		ar, ai := r[j]+fr, i[j]+fi
		br, bi := r[j]-fr, i[j]-fi
		cr, ci := er+gr, ei+gi
		dr, di := er-gr, ei-gi
		r[j], i[j] = ar+cr, ai+ci
		r[4+j], i[4+j] = br-di, bi+dr
		r[8+j], i[8+j] = ar-cr, ai-ci
		r[12+j], i[12+j] = br+di, bi-dr
	}
}

// four convolves four samples.
func four(r, i, h *[4]float64) {
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
