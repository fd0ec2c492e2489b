package reject

import (
	"fmt"
	"math"

	"calotte/topo/erp/internal/stat"
)

// Robust limits.
const (
	// UsualDeviations is how many robust standard deviations, of
	// NormalDeviation times the MAD, a limit from the data lies above the
	// median, unless it is said otherwise. The choice is ours.
	UsualDeviations = 4
	// NormalDeviation is the standard deviation of normal data over their
	// median absolute deviation, 1/Φ⁻¹(3/4) (Leys et al. 2013, J Exp Soc
	// Psychol 49:764).
	NormalDeviation = 1.4826

	// FewestForLimits is how many epochs it takes to find limits from.
	FewestForLimits = 10
)

// RobustLimits finds a limit for each site from what a rule measured in the
// data themselves, values as epoch × site (say [SwingOf] of every epoch and
// site):
//
//	limit = median + k · 1.4826 · MAD,  MAD = median |value − median|
//
// over the site's epochs, all conditions together; the median of an even number
// is the mean of the middle two. Values that are not finite are left out. A
// site whose MAD is zero, one that is flat, gets no limit (+Inf). The limits do
// not depend on the order of the epochs. A site that is bad throughout gets a
// limit to match: [screen.Screen] finds that.
func RobustLimits(values [][]float64, k float64) (Limits, error) {
	switch {
	case !(k > 0) || math.IsInf(k, 0):
		return nil, fmt.Errorf("a limit %v deviations above the median: expected a positive number such as %d",
			k,
			UsualDeviations)
	case len(values) < FewestForLimits:
		return nil, fmt.Errorf("%d epochs are too few to find limits from: expected %d or more, else give a "+
			"limit in µV", len(values), FewestForLimits)
	}
	limits := make(Limits, len(values[0]))
	column := make([]float64, 0, len(values))
	for i := range limits {
		column = column[:0]
		for _, row := range values {
			if !math.IsNaN(row[i]) && !math.IsInf(row[i], 0) {
				column = append(column, row[i])
			}
		}
		limits[i] = math.Inf(1)
		if centre, deviation := stat.Middle(column); deviation > 0 {
			limits[i] = centre + k*NormalDeviation*deviation
		}
	}
	return limits, nil
}
