package contrast

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/topo"
	"calotte/topo/unit"
)

// A Certainty is a number that says how sure the mean of a sample is.
type Certainty int

const (
	TValue        Certainty = iota // the mean over its standard error
	StandardError                  // of the mean, µV
	Agreement                      // how many units have the sign of the mean, %
)

// ErrNoSpread says that t has no value, since all units are the same.
var ErrNoSpread = errors.New("all epochs or people are the same, so there is no error to divide by")

// Spread returns, for each latency, the deviations of the sample's units from
// their mean over √(n(n−1)), site × unit in µV. Its product with its own
// transpose is the covariance of the mean, and what a spline makes of its
// columns is the same at any point: no error is interpolated.
func (s Sample) Spread(at []unit.Latency) ([]mat.Matrix, error) {
	n := len(s.Units)
	if n < 2 {
		return nil, errors.New("a spread takes two units or more")
	}
	var out []mat.Matrix
	for _, latency := range at {
		scores := mat.NewDense(len(s.Average.Sites), n, nil)
		for k, u := range s.Units {
			values, err := u.At(latency)
			if err != nil {
				return nil, err
			}
			scores.SetCol(k, values)
		}
		for row := range len(s.Average.Sites) {
			values := scores.RawRowView(row)
			mean := 0.0
			for _, x := range values {
				mean += x / float64(n)
			}
			for k, x := range values {
				values[k] = (x - mean) / math.Sqrt(float64(n)*float64(n-1))
			}
		}
		out = append(out, scores)
	}
	return out, nil
}

// Freedom is the number of degrees of freedom of the sample's t.
func (s Sample) Freedom() int { return len(s.Units) - 1 }

// Certainties are those of the potential at some points, point × latency, of
// which means holds the means; the standard error needs none. The spline is
// that through the sites of the average.
func (s Sample) Certainties(c Certainty, means mat.Matrix, spline *topo.Spline, points []r3.Vec,
	at []unit.Latency) (*mat.Dense, error) {
	spreads, err := s.Spread(at)
	if err != nil {
		return nil, err
	}
	out := mat.NewDense(len(points), len(at), nil)
	for column, spread := range spreads {
		coefficients, err := spline.Solve(spread)
		if err != nil {
			return nil, err
		}
		parts := spline.Interpolate(points, topo.Potential, coefficients)
		for i := range points {
			mean := 0.
			if means != nil {
				mean = means.At(i, column)
			}
			v := c.of(mean, parts.RawRowView(i))
			if math.IsNaN(v) {
				return nil, ErrNoSpread
			}
			out.Set(i, column, v)
		}
	}
	return out, nil
}

// of is the certainty at a point, from the mean and the deviations of the units
// there as Spread scales them.
func (c Certainty) of(mean float64, deviations []float64) float64 {
	if c == Agreement {
		return Agreeing(mean, deviations)
	}
	sem := floats.Norm(deviations, 2)
	switch {
	case c == StandardError:
		return sem
	case sem > 0:
		return mean / sem
	}
	return math.NaN()
}

// Agreeing is the share, in %, of units whose value has the sign of the mean,
// from the deviations as Spread scales them.
func Agreeing(mean float64, deviations []float64) float64 {
	n := float64(len(deviations))
	root := math.Sqrt(n * (n - 1))
	same := 0
	for _, d := range deviations {
		if (mean+d*root)*mean > 0 {
			same++
		}
	}
	return 100 * float64(same) / n
}
