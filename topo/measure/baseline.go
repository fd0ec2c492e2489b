package measure

import "calotte/topo/unit"

// BaselinePower is the mean over the samples of the baseline, ends included, of
// the field power: what is left of the noise of an average whose baseline is
// zero at every site. Values are site × sample, times in s, one a sample; the
// result has the values' unit. It is zero where no sample lies in the baseline.
func BaselinePower(times []float64, values [][]float64, baseline unit.Span) float64 {
	sum, n := 0.0, 0
	column := make([]float64, len(values))
	for t, time := range times {
		if !baseline.Contains(unit.Time(time)) {
			continue
		}
		for i, row := range values {
			column[i] = row[t]
		}
		sum += FieldPower(column)
		n++
	}
	if n == 0 {
		return 0
	}
	return sum / float64(n)
}
