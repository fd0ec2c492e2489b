package inference

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Wilson is the score interval of a share of which found of all were seen (E.
// B. Wilson, "Probable inference, the law of succession, and statistical
// inference", J Am Stat Assoc 22:209, 1927; from memory), at a level such as
// .95. All is 1 or more.
func Wilson(found, all int, level float64) (low, high float64) {
	n, z := float64(all), distuv.UnitNormal.Quantile((1+level)/2)
	p := float64(found) / n
	middle := (p + z*z/(2*n)) / (1 + z*z/n)
	half := z / (1 + z*z/n) * math.Sqrt(p*(1-p)/n+z*z/(4*n*n))
	return max(0, middle-half), min(1, middle+half)
}
