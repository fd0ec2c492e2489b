// Package measure takes numbers off averages: field power, components, and the
// difference between the hemispheres.
package measure

import "math"

// FieldPower is the spatial standard deviation of a map, √(Σ(vᵢ−v̄)²/N) over its
// N scalp sites, in the values' unit (global field power; Lehmann & Skrandies
// 1980, Electroencephalogr Clin Neurophysiol 48:609). It is NaN for no sites.
func FieldPower(values []float64) float64 {
	n := float64(len(values))
	var sum, squares float64
	for _, v := range values {
		sum += v
	}
	mean := sum / n
	for _, v := range values {
		squares += (v - mean) * (v - mean)
	}
	return math.Sqrt(squares / n)
}
