package layout

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// bestRotation returns the rotation matrix Q that makes Σ |to − Q·from|² least
// (Kabsch 1976, Acta Cryst A32:922); mirrored, the best matrix of determinant −1
// instead. It reports false where the vectors lie on one line or, of a mirror
// image too, leave Q open otherwise.
func bestRotation(from, to []r3.Vec, mirrored bool) (*r3.Mat, bool) {
	var h [9]float64
	for i, f := range from {
		t := to[i]
		for row, tv := range [3]float64{t.X, t.Y, t.Z} {
			h[3*row] += tv * f.X
			h[3*row+1] += tv * f.Y
			h[3*row+2] += tv * f.Z
		}
	}
	var svd mat.SVD
	if !svd.Factorize(mat.NewDense(3, 3, h[:]), mat.SVDFull) {
		return nil, false
	}
	values := svd.Values(nil)
	if !(values[1] > 1e-9*values[0]) {
		return nil, false
	}
	var u, v, q mat.Dense
	svd.UTo(&u)
	svd.VTo(&v)
	want := 1.0
	if mirrored {
		want = -1
	}
	if mat.Det(&u)*mat.Det(&v)*want < 0 {
		for i := range 3 {
			u.Set(i, 2, -u.At(i, 2))
		}
	}
	q.Mul(&u, v.T())
	return r3.NewMat(q.RawMatrix().Data), true
}

// rotationVector returns the axis of a rotation, as long as its angle in radians,
// from 0 to π.
func rotationVector(q *r3.Mat) r3.Vec {
	axis := r3.Vec{X: q.At(2, 1) - q.At(1, 2), Y: q.At(0, 2) - q.At(2, 0), Z: q.At(1, 0) - q.At(0, 1)}
	sine := r3.Norm(axis) / 2
	cosine := (q.At(0, 0) + q.At(1, 1) + q.At(2, 2) - 1) / 2
	angle := math.Atan2(sine, cosine)
	switch {
	case sine > 1e-7:
		return r3.Scale(angle/(2*sine), axis)
	case cosine > 0:
		return r3.Scale(0.5, axis)
	}
	return r3.Scale(angle, halfTurnAxis(q))
}

// halfTurnAxis reads the axis off Q = 2aaᵀ − 1, from its longest column.
func halfTurnAxis(q *r3.Mat) r3.Vec {
	var best r3.Vec
	for j := range 3 {
		column := [3]float64{q.At(0, j), q.At(1, j), q.At(2, j)}
		column[j]++
		if c := (r3.Vec{X: column[0], Y: column[1], Z: column[2]}); r3.Norm2(c) > r3.Norm2(best) {
			best = c
		}
	}
	return r3.Unit(best)
}

// turned applies a rotation vector to a point.
func turned(p, rotation r3.Vec) r3.Vec {
	return r3.Rotate(p, r3.Norm(rotation), rotation)
}

// A motion is a rotation followed by a shift.
type motion struct {
	turn  *r3.Mat
	shift r3.Vec
}

func (m motion) apply(p r3.Vec) r3.Vec { return r3.Add(m.turn.MulVec(p), m.shift) }

// bestMotion returns the motion that makes Σ |to − motion(from)|² least.
func bestMotion(from, to []r3.Vec) (motion, bool) {
	cf, ct := centroid(from), centroid(to)
	q, ok := bestRotation(shifted(from, cf), shifted(to, ct), false)
	if !ok {
		return motion{}, false
	}
	return motion{q, r3.Sub(ct, q.MulVec(cf))}, true
}

func shifted(points []r3.Vec, by r3.Vec) []r3.Vec {
	moved := make([]r3.Vec, len(points))
	for i, p := range points {
		moved[i] = r3.Sub(p, by)
	}
	return moved
}
