package erp

import "sort"

// A cubic interpolates rows of values over the same knots: the cubic spline
// with continuous second derivative whose third derivative is continuous, too,
// at the second and the last but one knot ("not-a-knot"; C. de Boor, "A
// Practical Guide to Splines", 1978, chapter IV, from memory). The slopes s at
// the knots solve, with h the intervals and m the secants' slopes,
//
//	hᵢ sᵢ₋₁ + 2(hᵢ₋₁+hᵢ) sᵢ + hᵢ₋₁ sᵢ₊₁ = 3(hᵢ mᵢ₋₁ + hᵢ₋₁ mᵢ)
//
// and at the ends, with d = h₀+h₁ and likewise from behind,
//
//	h₁ s₀ + d s₁ = ((h₀+2d) h₁ m₀ + h₀² m₁)/d
//
// The system is tridiagonal: fitting a row takes time proportional to its length.
type cubic struct {
	knots  []float64
	upper  []float64 // the eliminated system's, above a diagonal of ones
	pivot  []float64 // what its rows are divided by
	slopes []float64 // of the latest row
}

// newCubic prepares for knots that increase, four or more.
func newCubic(knots []float64) *cubic {
	n := len(knots)
	c := &cubic{knots, make([]float64, n), make([]float64, n), make([]float64, n)}
	c.pivot[0] = c.interval(1)
	c.upper[0] = (knots[2] - knots[0]) / c.pivot[0]
	for i := 1; i < n-1; i++ {
		before, after := c.interval(i-1), c.interval(i)
		c.pivot[i] = 2*(before+after) - after*c.upper[i-1]
		c.upper[i] = before / c.pivot[i]
	}
	c.pivot[n-1] = c.interval(n-3) - (knots[n-1]-knots[n-3])*c.upper[n-2]
	return c
}

func (c *cubic) interval(i int) float64 { return c.knots[i+1] - c.knots[i] }

// fit finds the slopes of a row, one value a knot.
func (c *cubic) fit(row []float64) {
	n, s := len(row), c.slopes
	secant := func(i int) float64 { return (row[i+1] - row[i]) / c.interval(i) }
	// end is the right side of an end's equation, from the outer interval and the
	// one beside it.
	end := func(outer, inner int) float64 {
		h, g := c.interval(outer), c.interval(inner)
		return ((3*h+2*g)*g*secant(outer) + h*h*secant(inner)) / (h + g)
	}
	s[0] = end(0, 1) / c.pivot[0]
	for i := 1; i < n-1; i++ {
		before, after := c.interval(i-1), c.interval(i)
		right := 3 * (after*secant(i-1) + before*secant(i))
		s[i] = (right - after*s[i-1]) / c.pivot[i]
	}
	s[n-1] = (end(n-2, n-3) - (c.knots[n-1]-c.knots[n-3])*s[n-2]) / c.pivot[n-1]
	for i := n - 2; i >= 0; i-- {
		s[i] -= c.upper[i] * s[i+1]
	}
}

// at returns the value at t of a row, one value a knot. Beyond the knots the
// outermost cubic goes on.
func (c *cubic) at(row []float64, t float64) float64 {
	c.fit(row)
	i := sort.SearchFloat64s(c.knots, t) - 1
	i = min(max(i, 0), len(c.knots)-2)
	h := c.interval(i)
	u := (t - c.knots[i]) / h
	v := 1 - u
	return row[i]*v*v*(1+2*u) + row[i+1]*u*u*(1+2*v) + h*u*v*(c.slopes[i]*v-c.slopes[i+1]*u)
}
