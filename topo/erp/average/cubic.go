package average

import (
	"sort"

	"gonum.org/v1/gonum/interp"
	"gonum.org/v1/gonum/mat"
)

// cubicAt returns the value at t of each of some rows over the same knots, one
// value a knot: that of the cubic spline with continuous second derivative
// whose third derivative is continuous, too, at the second and the last but one
// knot ("not-a-knot"; C. de Boor, "A Practical Guide to Splines", 1978, chapter
// IV, from memory). Knots increase, four or more, and t lies among them.
//
// The slopes s at the knots solve, with h the intervals and m the secants'
// slopes,
//
//	hᵢ sᵢ₋₁ + 2(hᵢ₋₁+hᵢ) sᵢ + hᵢ₋₁ sᵢ₊₁ = 3(hᵢ mᵢ₋₁ + hᵢ₋₁ mᵢ)
//
// and at the ends, with d = h₀+h₁ and likewise from behind,
//
//	h₁ s₀ + d s₁ = ((h₀+2d) h₁ m₀ + h₀² m₁)/d
//
// The system is tridiagonal. Of its inverse only the two rows are needed that
// give the slopes on both sides of t, whatever the values: the time is
// proportional to the numbers given.
func cubicAt(knots []float64, rows [][]float64, t float64) []float64 {
	n, h := len(knots), intervals(knots)
	i := max(sort.SearchFloat64s(knots, t)-1, 0)
	inverse := mat.NewDense(n, 2, nil) // two rows of it, as columns
	inverse.Set(i, 0, 1)
	inverse.Set(i+1, 1, 1)
	if err := slopeSystem(h).SolveTo(inverse, true, inverse); err != nil {
		panic(err) // where knots increase there is a solution
	}
	right, slopes := mat.NewVecDense(n, nil), mat.NewVecDense(2, nil)
	var piece interp.PiecewiseCubic
	values := make([]float64, len(rows))
	for j, row := range rows {
		rightSide(right.RawVector().Data, h, row)
		slopes.MulVec(inverse.T(), right)
		piece.FitWithDerivatives(knots[i:i+2], row[i:i+2], slopes.RawVector().Data)
		values[j] = piece.Predict(t)
	}
	return values
}

func intervals(knots []float64) []float64 {
	h := make([]float64, len(knots)-1)
	for i := range h {
		h[i] = knots[i+1] - knots[i]
	}
	return h
}

// slopeSystem is the left side.
func slopeSystem(h []float64) *mat.Tridiag {
	last := len(h)
	below, diagonal, above := make([]float64, last), make([]float64, last+1), make([]float64, last)
	diagonal[0], above[0] = h[1], h[0]+h[1]
	for i := 1; i < last; i++ {
		below[i-1], diagonal[i], above[i] = h[i], 2*(h[i-1]+h[i]), h[i-1]
	}
	below[last-1], diagonal[last] = h[last-1]+h[last-2], h[last-2]
	return mat.NewTridiag(last+1, below, diagonal, above)
}

// rightSide makes the right side for a row.
func rightSide(into, h, row []float64) {
	last := len(h)
	secant := func(i int) float64 { return (row[i+1] - row[i]) / h[i] }
	// end is that of an end, from the outer interval and the one beside it.
	end := func(outer, inner int) float64 {
		h, g := h[outer], h[inner]
		return ((3*h+2*g)*g*secant(outer) + h*h*secant(inner)) / (h + g)
	}
	into[0] = end(0, 1)
	for i := 1; i < last; i++ {
		into[i] = 3 * (h[i]*secant(i-1) + h[i-1]*secant(i))
	}
	into[last] = end(last-1, last-2)
}
