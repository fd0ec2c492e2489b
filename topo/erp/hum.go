package erp

import (
	"fmt"
	"math"
	"math/cmplx"
)

// fewestPeriods of a frequency that it takes to measure it, so that slow waves stay
// apart: the Hann window's main lobe ends two periods a record from its middle.
const fewestPeriods = 5

// Hum returns the amplitude, in the row's unit, of a sine of the given frequency in
// Hz (the mains' 50 or 60, or a multiple) in a row at the given rate, as an average has
// it left. With w the Hann window over the row, without its zeros at the ends,
//
//	A = 2 |Σ w (x − x̄) e^(−2πi·f·t)| / Σ w,  x̄ = Σ w x / Σ w
//
// A lasting sine is measured to its amplitude; one that comes and goes to its
// weighted mean. The window keeps the slow waves of the response out: they fall with
// the third power of the distance in frequency. White noise of standard deviation
// σ alone gives about σ √(π Σ w²)/Σ w, for an average of n samples near 2.2 σ/√n.
//
// A row shorter than five periods and a frequency of half the rate or more are
// errors.
func Hum(row []float64, rate, frequency float64) (float64, error) {
	switch {
	case !(frequency > 0 && rate > 0):
		return 0, fmt.Errorf("hum of %v Hz at a rate of %v Hz: expected positive numbers", frequency, rate)
	case !(frequency < rate/2):
		return 0, fmt.Errorf("hum of %v Hz cannot be seen at a rate of %v Hz: it takes more than twice as much", frequency, rate)
	case float64(len(row))*frequency/rate < fewestPeriods:
		return 0, fmt.Errorf("%d samples at %v Hz hold %.1f periods of %v Hz: a longer epoch of %d or more is needed",
			len(row), rate, float64(len(row))*frequency/rate, frequency, fewestPeriods)
	}
	total, mean := 0.0, 0.0
	for t, x := range row {
		w := hann(t, len(row))
		total += w
		mean += w * x
	}
	mean /= total
	var sum complex128
	for t, x := range row {
		// Whole turns are taken off before the sine, which is exact for small angles only.
		turn := math.Mod(frequency/rate*float64(t), 1)
		sum += complex(hann(t, len(row))*(x-mean), 0) * cmplx.Rect(1, -2*math.Pi*turn)
	}
	return 2 * cmplx.Abs(sum) / total, nil
}

// hann is the Hann window over n samples, whose zeros lie a sample outside.
func hann(t, n int) float64 {
	s := math.Sin(math.Pi * float64(t+1) / float64(n+1))
	return s * s
}
