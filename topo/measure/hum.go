package measure

import (
	"fmt"
	"math"
	"math/cmplx"
)

// fewestPeriods of a frequency that it takes to measure it, so that slow waves
// stay apart: the Hann window's main lobe ends two periods a record from its
// middle.
const fewestPeriods = 5

// Hum returns the amplitude, in the row's unit, of a sine of the given
// frequency in Hz (the mains' 50 or 60, or a multiple) in a row at the given
// rate, as an average has it left. With w the Hann window over the row, without
// its zeros at the ends,
//
//	A = 2 |Σ w (x − x̄) e^(−2πi·f·t)| / Σ w,  x̄ = Σ w x / Σ w
//
// A lasting sine is measured to its amplitude; one that comes and goes to its
// weighted mean. The window keeps the slow waves of the response out: they fall
// with the third power of the distance in frequency. White noise of standard
// deviation σ alone gives about σ √(π Σ w²)/Σ w, for an average of n samples
// near 2.2 σ/√n.
//
// A row shorter than five periods and a frequency of half the rate or more are
// errors.
func Hum(row []float64, rate, frequency float64) (float64, error) {
	h, err := NewHumMeter(len(row), rate, frequency)
	if err != nil {
		return 0, err
	}
	return h.Amplitude(row), nil
}

// A HumMeter measures the hum of rows of one length.
type HumMeter struct {
	window, cosine, sine []float64 // the window, and the window times the wave
	total                float64   // Σ w
	wave                 complex128
}

// NewHumMeter prepares to measure rows of so many samples.
func NewHumMeter(samples int, rate, frequency float64) (*HumMeter, error) {
	switch {
	case !(frequency > 0 && rate > 0):
		return nil, fmt.Errorf("hum of %v Hz at a rate of %v Hz: expected positive numbers", frequency, rate)
	case !(frequency < rate/2):
		return nil, fmt.Errorf("hum of %v Hz cannot be seen at a rate of %v Hz: it takes more than "+
			"twice as much",
			frequency, rate)
	case float64(samples)*frequency/rate < fewestPeriods:
		return nil, fmt.Errorf("%d samples at %v Hz hold %.1f periods of %v Hz: a longer epoch of %d or "+
			"more is needed",
			samples, rate, float64(samples)*frequency/rate, frequency, fewestPeriods)
	}
	h := &HumMeter{}
	for t := range samples {
		w := hann(t, samples)
		// Whole turns are taken off before the sine, which is exact for
		// small angles only.
		sin, cos := math.Sincos(-2 * math.Pi * math.Mod(frequency/rate*float64(t), 1))
		h.window, h.cosine, h.sine = append(h.window, w), append(h.cosine, w*cos), append(h.sine, w*sin)
		h.total += w
		h.wave += complex(w*cos, w*sin)
	}
	return h, nil
}

// Amplitude is that of the hum in a row of the meter's length.
func (h *HumMeter) Amplitude(row []float64) float64 {
	level := row[0] // electrodes may stand far from zero
	var mean, re, im float64
	window, cosine, sine := h.window[:len(row)], h.cosine[:len(row)], h.sine[:len(row)]
	for t, x := range row {
		x -= level
		mean += window[t] * x
		re += cosine[t] * x
		im += sine[t] * x
	}
	mean /= h.total
	return 2 * cmplx.Abs(complex(re, im)-complex(mean, 0)*h.wave) / h.total
}

// hann is the Hann window over n samples, whose zeros lie a sample outside.
func hann(t, n int) float64 {
	s := math.Sin(math.Pi * float64(t+1) / float64(n+1))
	return s * s
}
