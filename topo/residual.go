package topo

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// operator returns A⁻¹ without its last column, (sites+1) × sites: amplitudes
// to coefficients. Its first rows are the site block B of A⁻¹.
func (s *Spline) operator() (*mat.Dense, error) {
	if err := s.conditioned(1); err != nil {
		return nil, err
	}
	identity := mat.NewDiagDense(len(s.sites), constant(len(s.sites)).RawVector().Data)
	c, err := s.solve(identity)
	if err != nil {
		return nil, err
	}
	return c.Dense, nil
}

// LeaveOneOut returns, sites × columns in µV, how far each amplitude lies above
// what the other sites alone predict there: cᵢ/Bᵢᵢ, with B the site block of
// the system's inverse. The coefficients must come from this spline's Solve.
// With smoothing the prediction is that of a spline of the same smoothing.
func (s *Spline) LeaveOneOut(c *Coefficients) (*mat.Dense, error) {
	b, err := s.inverse()
	if err != nil {
		return nil, err
	}
	n := len(s.sites)
	_, columns := c.Dims()
	residuals := mat.NewDense(n, columns, nil)
	for i := range n {
		row := residuals.RawRowView(i)
		for j, w := range c.RawRowView(i) {
			row[j] = w / b.At(i, i)
		}
	}
	return residuals, nil
}

// GCV returns the score of generalised cross-validation, n‖c‖²/(tr B)², in µV²,
// summed over all columns: one smoothing serves a whole sheet of maps. The
// smoothing with the lowest score predicts left-out sites best.
func (s *Spline) GCV(c *Coefficients) (float64, error) {
	b, err := s.inverse()
	if err != nil {
		return 0, err
	}
	n := len(s.sites)
	trace, square := 0.0, 0.0
	for i := range n {
		trace += b.At(i, i)
		for _, w := range c.RawRowView(i) {
			square += w * w
		}
	}
	return float64(n) * square / (trace * trace), nil
}

// Weights returns the matrix, points × sites, that turns amplitudes straight
// into values at the points: Basis times the system's inverse.
func (s *Spline) Weights(points []r3.Vec, q Quantity) (*mat.Dense, error) {
	inverse, err := s.inverse()
	if err != nil {
		return nil, err
	}
	weights := &mat.Dense{}
	if len(points) > 0 {
		weights.Mul(s.Basis(points, q), inverse)
	}
	return weights, nil
}

// Variance returns the variance of the value at every point, in µV² or
// (µV/cm²)², from the covariance Σ of the sites' mean amplitudes in µV²: wᵀΣw
// with w the point's row of Weights. It is the same as projecting every epoch
// (or participant) to the point and taking sd²/n there. The bias of
// interpolation is not in it.
func (s *Spline) Variance(points []r3.Vec, q Quantity, covariance mat.Symmetric) ([]float64, error) {
	n := len(s.sites)
	if rows := covariance.SymmetricDim(); rows != n {
		return nil, fmt.Errorf("a covariance of %d sites for a spline of %d: give one row for each "+
			"site, in order",
			rows, n)
	}
	largest := 0.0
	for i := range n {
		v := covariance.At(i, i)
		if !(v >= 0 && v <= math.MaxFloat64) {
			return nil, fmt.Errorf("site %q has variance %v: expected a finite number, 0 or more",
				s.sites[i].Name,
				v)
		}
		largest = math.Max(largest, v)
	}
	if err := s.conditioned(math.Sqrt(largest)); err != nil {
		return nil, err
	}
	weights, err := s.Weights(points, q)
	if err != nil || len(points) == 0 {
		return nil, err
	}
	var spread mat.Dense
	spread.Mul(weights, mat.DenseCopyOf(covariance)) // many Symmetrics multiply slowly
	variances := make([]float64, len(points))
	for i := range variances {
		// A covariance is positive semidefinite up to rounding.
		variances[i] = math.Max(0, mat.Dot(weights.RowView(i), spread.RowView(i)))
	}
	return variances, nil
}
