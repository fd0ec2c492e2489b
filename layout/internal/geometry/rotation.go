package geometry

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// BestRotation returns the rotation matrix Q that makes Σ |to − Q·from|² least
// (Kabsch 1976, Acta Cryst A32:922); mirrored, the best matrix of determinant
// −1 instead. It reports false where the vectors lie on one line or, of a
// mirror image too, leave Q open otherwise.
func BestRotation(from, to []r3.Vec, mirrored bool) (*r3.Mat, bool) {
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

// RotationVector returns the axis of a rotation, as long as its angle in
// radians, from 0 to π.
func RotationVector(q *r3.Mat) r3.Vec {
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

// TurnCovariance is the covariance of the rotation vector that points tell,
// where each coordinate of theirs has a standard error of 1: a small turn w
// moves a point p by w × p, so that the sum of squares has the second
// derivative Σ (|p|² − ppᵀ).
func TurnCovariance(points []r3.Vec) (*mat.SymDense, bool) {
	information := mat.NewSymDense(3, nil)
	for _, p := range points {
		v := [3]float64{p.X, p.Y, p.Z}
		for i := range v {
			information.SetSym(i, i, information.At(i, i)+r3.Norm2(p))
			for j := i; j < 3; j++ {
				information.SetSym(i, j, information.At(i, j)-v[i]*v[j])
			}
		}
	}
	var factor mat.Cholesky
	covariance := mat.NewSymDense(3, nil)
	ok := factor.Factorize(information) && factor.InverseTo(covariance) == nil
	return covariance, ok
}

// TurnOfShift returns the rotation vector that explains best that all points
// were moved by the same shift.
func TurnOfShift(points []r3.Vec, covariance mat.Symmetric, shift r3.Vec) r3.Vec {
	moment := r3.Cross(r3.Scale(float64(len(points)), Centroid(points)), shift)
	var turn mat.VecDense
	turn.MulVec(covariance, mat.NewVecDense(3, []float64{moment.X, moment.Y, moment.Z}))
	return r3.Vec{X: turn.AtVec(0), Y: turn.AtVec(1), Z: turn.AtVec(2)}
}

// TurnedBy returns the points turned by a rotation.
func TurnedBy(q *r3.Mat, points []r3.Vec) []r3.Vec {
	moved := make([]r3.Vec, len(points))
	for i, p := range points {
		moved[i] = q.MulVec(p)
	}
	return moved
}

// Turned applies a rotation vector to a point.
func Turned(p, rotation r3.Vec) r3.Vec {
	return r3.Rotate(p, r3.Norm(rotation), rotation)
}

// A Motion is a rotation followed by a shift.
type Motion struct {
	Turn  *r3.Mat
	Shift r3.Vec
}

// Apply moves a point.
func (m Motion) Apply(p r3.Vec) r3.Vec { return r3.Add(m.Turn.MulVec(p), m.Shift) }

// BestMotion returns the motion that makes Σ |to − motion(from)|² least.
func BestMotion(from, to []r3.Vec) (Motion, bool) {
	cf, ct := Centroid(from), Centroid(to)
	q, ok := BestRotation(Shifted(from, cf), Shifted(to, ct), false)
	if !ok {
		return Motion{}, false
	}
	return Motion{q, r3.Sub(ct, q.MulVec(cf))}, true
}

// Shifted returns the points less a vector.
func Shifted(points []r3.Vec, by r3.Vec) []r3.Vec {
	moved := make([]r3.Vec, len(points))
	for i, p := range points {
		moved[i] = r3.Sub(p, by)
	}
	return moved
}
