// Package measure takes numbers off one average: field power, components, the
// power of its baseline; and off its sites. What differs between sides,
// conditions and people is in package contrast.
package measure

import "math"

// FieldPower is the spatial standard deviation of a map, √(Σ(vᵢ−v̄)²/N) over
// its N scalp sites, in the values' unit (global field power; Lehmann &
// Skrandies 1980, Electroencephalogr Clin Neurophysiol 48:609). It is NaN for
// no sites.
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

// FieldPowers are the [FieldPower] of each sample of values, site × sample.
func FieldPowers(values [][]float64) []float64 {
	if len(values) == 0 {
		return nil
	}
	powers, column := make([]float64, len(values[0])), make([]float64, len(values))
	for t := range powers {
		for i, row := range values {
			column[i] = row[t]
		}
		powers[t] = FieldPower(column)
	}
	return powers
}
