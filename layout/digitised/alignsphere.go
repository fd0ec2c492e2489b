package digitised

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout/internal/geometry"
)

// A sphereFit is the sphere with the least sum of squared distances from points
// to its surface.
type sphereFit struct {
	centre      r3.Vec
	radius      float64
	rms         float64 // of the distances
	centreError r3.Vec  // standard errors of the centre's coordinates
	points      int     // that it was fitted to
}

var errNoSphere = errors.New("the points lie on no sphere")

// fitSphere finds the geometric least-squares sphere by Gauss-Newton steps from
// the algebraic one, which is linear. It needs five points or more, not in one
// plane.
func fitSphere(points []r3.Vec) (sphereFit, error) {
	if len(points) < 5 {
		return sphereFit{}, fmt.Errorf("%w: %d of them, expected 5 or more", errNoSphere, len(points))
	}
	f, ok := algebraicSphere(points)
	if !ok {
		return sphereFit{}, errNoSphere
	}
	jacobian := mat.NewDense(len(points), 4, nil)
	residual := mat.NewVecDense(len(points), nil)
	sum := f.residuals(points, residual, jacobian)
	for range 100 {
		var step mat.VecDense
		if err := step.SolveVec(jacobian, residual); err != nil {
			return sphereFit{}, errNoSphere
		}
		next, nextSum := f, math.Inf(1)
		size := 1.0
		for ; size > 1e-4 && nextSum > sum; size /= 2 {
			next.centre = r3.Add(f.centre,
				r3.Scale(size, r3.Vec{X: step.AtVec(0), Y: step.AtVec(1), Z: step.AtVec(2)}))
			next.radius = f.radius + size*step.AtVec(3)
			nextSum = next.residuals(points, residual, jacobian)
		}
		if !(nextSum < sum) {
			break
		}
		f, sum = next, nextSum
		if mat.Norm(&step, 2) < 1e-12*f.radius {
			break
		}
	}
	f.residuals(points, residual, jacobian)
	return f.withErrors(sum, jacobian)
}

// algebraicSphere solves |p|² = 2p·c + (R² − |c|²), with p from the points'
// mean.
func algebraicSphere(points []r3.Vec) (sphereFit, bool) {
	mean := geometry.Centroid(points)
	a := mat.NewDense(len(points), 4, nil)
	b := mat.NewVecDense(len(points), nil)
	for i, p := range points {
		q := r3.Sub(p, mean)
		a.SetRow(i, []float64{2 * q.X, 2 * q.Y, 2 * q.Z, 1})
		b.SetVec(i, r3.Norm2(q))
	}
	var x mat.VecDense
	if err := x.SolveVec(a, b); err != nil {
		return sphereFit{}, false
	}
	c := r3.Vec{X: x.AtVec(0), Y: x.AtVec(1), Z: x.AtVec(2)}
	radius := math.Sqrt(x.AtVec(3) + r3.Norm2(c))
	return sphereFit{centre: r3.Add(c, mean), radius: radius}, radius > 0
}

// residuals fills in the distances of the points from the surface and the
// derivatives of minus them by centre and radius. It returns the sum of
// squares.
func (f sphereFit) residuals(points []r3.Vec, residual *mat.VecDense, jacobian *mat.Dense) float64 {
	sum := 0.0
	for i, p := range points {
		q := r3.Sub(p, f.centre)
		d := r3.Norm(q)
		u := r3.Scale(1/d, q)
		residual.SetVec(i, d-f.radius)
		jacobian.SetRow(i, []float64{u.X, u.Y, u.Z, 1})
		sum += (d - f.radius) * (d - f.radius)
	}
	return sum
}

// withErrors adds the errors that the residuals tell.
func (f sphereFit) withErrors(sum float64, jacobian *mat.Dense) (sphereFit, error) {
	n, _ := jacobian.Dims()
	var normal, covariance mat.Dense
	normal.Mul(jacobian.T(), jacobian)
	if err := covariance.Inverse(&normal); err != nil {
		return sphereFit{}, errNoSphere
	}
	f.rms = math.Sqrt(sum / float64(n))
	deviation := math.Sqrt(sum / float64(n-4))
	f.centreError = r3.Vec{
		X: deviation * math.Sqrt(covariance.At(0, 0)),
		Y: deviation * math.Sqrt(covariance.At(1, 1)),
		Z: deviation * math.Sqrt(covariance.At(2, 2)),
	}
	return f, nil
}
