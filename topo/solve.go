package topo

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// worstError is how far, in µV, rounding may carry the spline from an
// amplitude.
const worstError = 0.01

// Coefficients are a spline's solution, (sites+1) × columns: a row for each
// site and a last row for the constant c₀, in µV over the kernel's unit. Basis
// times Coefficients are values.
type Coefficients struct {
	*mat.Dense
}

// Solve fits the spline to amplitudes in µV, sites × columns (latencies, or
// whatever shares the sites), each column on its own.
//
// Rounding moves the spline by up to 2⁻⁵²·κ·max|v| at the sites, with κ the
// condition number of the system. Solve refuses where that exceeds 0.01 µV, as
// well as amplitudes that are not finite.
func (s *Spline) Solve(amplitudes mat.Matrix) (*Coefficients, error) {
	largest, err := s.largest(amplitudes)
	if err != nil {
		return nil, err
	}
	if err := s.conditioned(largest); err != nil {
		return nil, err
	}
	return s.solve(amplitudes)
}

// solve works out c₀ and c as New says.
func (s *Spline) solve(amplitudes mat.Matrix) (*Coefficients, error) {
	n, columns := amplitudes.Dims()
	c := mat.NewDense(n+1, columns, nil)
	weights := c.Slice(0, n, 0, columns).(*mat.Dense)
	if err := s.factor.SolveTo(weights, amplitudes); err != nil {
		return nil, fmt.Errorf("solving for the spline's coefficients: %w", err)
	}
	level := c.RawRowView(n)
	for i := range n {
		for j, w := range weights.RawRowView(i) {
			level[j] += w
		}
	}
	for j := range level {
		level[j] /= s.total
	}
	for i := range n {
		row, one := weights.RawRowView(i), s.ones.AtVec(i)
		for j := range row {
			row[j] -= one * level[j]
		}
	}
	return &Coefficients{c}, nil
}

// largest returns the largest absolute amplitude.
func (s *Spline) largest(amplitudes mat.Matrix) (float64, error) {
	rows, columns := amplitudes.Dims()
	if rows != len(s.sites) {
		return 0, fmt.Errorf("amplitudes of %d sites for a spline of %d: give one row for each site, in order",
			rows,
			len(s.sites))
	}
	largest := 0.0
	for i := range rows {
		for j := range columns {
			v := math.Abs(amplitudes.At(i, j))
			if !(v <= math.MaxFloat64) {
				return 0, fmt.Errorf("site %q has amplitude %v in column %d: expected a finite "+
					"number: leave the "+
					"site out or repair it",
					s.sites[i].Name, amplitudes.At(i, j), j+1)
			}
			largest = math.Max(largest, v)
		}
	}
	return largest, nil
}

// conditioned refuses where rounding spoils amplitudes of this size, in µV.
func (s *Spline) conditioned(largest float64) error {
	off := 0x1p-52 * s.condition * largest
	if off <= worstError {
		return nil
	}
	remedy := "use smoothing above 0"
	if s.options.Order > lowestOrder {
		remedy = fmt.Sprintf("use an order below %d or smoothing above 0", s.options.Order)
	}
	i, j := closest(s.units)
	chord := r3.Norm(r3.Sub(s.units[i], s.units[j]))
	apart := 2 * math.Asin(chord/2) * s.options.Radius
	return fmt.Errorf("rounding may move a spline of order %d through these %d sites by %s, more than %g µV; the "+
		"closest sites, %q and %q, are %.2g mm apart: %s",
		s.options.Order, len(s.sites), rounded(off), worstError, s.sites[i].Name, s.sites[j].Name, apart,
		remedy)
}

func rounded(off float64) string {
	if math.IsInf(off, 0) || math.IsNaN(off) {
		return "any amount"
	}
	return fmt.Sprintf("%.2g µV", off)
}
