package fields

import (
	"math"

	"calotte/topo/measure"
)

// BaselinePower is the largest of the averages whose baseline is known, in µV.
func (f *Fields) BaselinePower() float64 {
	most := 0.0
	for _, avg := range f.Averages {
		if span, ok := avg.Info.BaselineSpan(); ok {
			most = max(most, measure.BaselinePower(avg.Times, avg.Mean, span))
		}
	}
	return most
}

// StandardError is the median over the maps whose errors are known, in µV; 0
// where none is.
func (f *Fields) StandardError() (float64, error) {
	var noise []float64
	for _, avg := range f.Averages {
		for _, at := range f.At {
			sem, err := avg.NoiseAt(at)
			if err != nil {
				return 0, err
			}
			if !math.IsNaN(sem) {
				noise = append(noise, sem)
			}
		}
	}
	if len(noise) == 0 {
		return 0, nil
	}
	return measure.Median(noise), nil
}
