package topo

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// The kernels of all orders are one family: K_q is the series of the package
// comment with exponent q, so g is K_m and h is K_{m−1}.
const (
	lowestExponent  = lowestOrder - 1
	highestExponent = highestOrder
)

// tolerance is the largest truncation error of K_q over its value at x = 1.
// Tables, with what they add, stay below 1e-12 (see table). The splines of
// order 4 and above are so nearly singular with many sites that 1e-12 would
// move a map by thousandths of a microvolt, and more terms cost them little.
func tolerance(q int) float64 {
	if q == 3 {
		return 2e-13
	}
	return 1e-15
}

// degrees is the number of terms after which the rest of the series for 4πK_q
// is at most tolerance. As |Pₙ| ≤ 1 and n(n+1) = (n+½)² − ¼, term n is at most
// f(n+½) with f(t) = 2t/(t²−¼)^q. That is convex, so f(n+½) is at most its
// integral from n to n+1, and the terms after N sum to at most
// ((N+1)²−¼)^{1−q}/(q−1).
func degrees(q int, tolerance float64) int {
	least := math.Pow(tolerance*float64(q-1), 1/float64(1-q))
	return int(math.Ceil(math.Sqrt(least+0.25) - 1))
}

// kernels replaces the cosines in x by K_q, term by term or in closed form. It
// serves tables and tests; Basis and New read the tables.
func kernels(q int, x []float64) {
	if q == 2 {
		for i, c := range x {
			x[i] = dilogarithmic(c)
		}
		return
	}
	// 3/2^q is the first term, hence less than the kernel at x = 1.
	count := degrees(q, tolerance(q)*3*math.Pow(2, -float64(q)))
	type terms struct{ before, now, sum float64 } // Pₙ₋₁, Pₙ, what is summed
	points := make([]terms, len(x))
	for i, c := range x {
		points[i] = terms{before: 1, now: c}
	}
	for degree := 1; degree <= count; degree++ {
		n := float64(degree)
		weight := (2*n + 1) / math.Pow(n*(n+1), float64(q))
		// (n+1)Pₙ₊₁ = (2n+1)xPₙ − nPₙ₋₁, stable upwards as |x| ≤ 1.
		a, b := (2*n+1)/(n+1), n/(n+1)
		for i := range points {
			p := &points[i]
			p.sum += weight * p.now
			p.before, p.now = p.now, a*x[i]*p.now-b*p.before
		}
	}
	for i, p := range points {
		x[i] = p.sum / (4 * math.Pi)
	}
}

// kernel is K_q at one cosine.
func kernel(q int, x float64) float64 {
	c := []float64{x}
	kernels(q, c)
	return c[0]
}

// dilogarithmic is K_2 in closed form:
//
//	Σ (2n+1)/(n(n+1))² Pₙ(x) = Li₂((1+x)/2) + 1 − π²/6
//
// The Legendre operator −d/dx (1−x²) d/dx turns it into K_1, −1 − log((1−x)/2).
func dilogarithmic(x float64) float64 {
	li := real(mathext.Li2(complex((1+x)/2, 0)))
	return (li + 1 - math.Pi*math.Pi/6) / (4 * math.Pi)
}
