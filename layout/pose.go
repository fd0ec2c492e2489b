package layout

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// A PoseCovariance says how uncertain a turn of a cap, or of axes, is: the
// covariance of its rotation vector in rad², rows and columns about x (pitch,
// to the right ear), y (roll, to the nasion) and z (yaw, up). A site p is
// displaced by w × p for a small turn w, so that a placement which is uncertain
// by e mm in every direction, on a head of radius R, is (e/R)² on the diagonal.
type PoseCovariance [3][3]float64

// PoseCovarianceOf takes a symmetric matrix of three rows, times a factor.
func PoseCovarianceOf(m mat.Symmetric, factor float64) PoseCovariance {
	var c PoseCovariance
	for i := range c {
		for j := range c[i] {
			c[i][j] = factor * m.At(i, j)
		}
	}
	return c
}

// Plus is the covariance of the sum of two turns that know nothing of each
// other.
func (c PoseCovariance) Plus(d PoseCovariance) PoseCovariance {
	for i := range c {
		for j := range c[i] {
			c[i][j] += d[i][j]
		}
	}
	return c
}

// PlusTurn adds a turn whose size, in radians, is one standard error.
func (c PoseCovariance) PlusTurn(w r3.Vec) PoseCovariance {
	v := [3]float64{w.X, w.Y, w.Z}
	for i := range c {
		for j := range c[i] {
			c[i][j] += v[i] * v[j]
		}
	}
	return c
}

// Degrees are the standard errors about x, y and z, in degrees.
func (c PoseCovariance) Degrees() r3.Vec {
	return r3.Scale(180/math.Pi, r3.Vec{X: math.Sqrt(c[0][0]), Y: math.Sqrt(c[1][1]), Z: math.Sqrt(c[2][2])})
}
