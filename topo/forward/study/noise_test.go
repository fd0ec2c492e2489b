package study

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/dsp/window"
	"gonum.org/v1/gonum/stat"
)

// density estimates the power spectral density in µV²/Hz: the mean over halves
// overlapping Hann windows of the given seconds (Welch 1967).
func density(x []float64, seconds int) []float64 {
	n := seconds * SampleRate
	fft, taper := fourier.NewFFT(n), window.Hann(ones(n))
	sum, count := make([]float64, n/2+1), 0.0
	energy := 0.0
	for _, w := range taper {
		energy += w * w
	}
	part := make([]float64, n)
	for first := 0; first+n <= len(x); first += n / 2 {
		mean := stat.Mean(x[first:first+n], nil)
		for i := range part {
			part[i] = (x[first+i] - mean) * taper[i]
		}
		for i, c := range fft.Coefficients(nil, part) {
			sum[i] += 2 * (real(c)*real(c) + imag(c)*imag(c)) / (energy * SampleRate)
		}
		count++
	}
	for i := range sum {
		sum[i] /= count
	}
	return sum
}

func ones(n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = 1
	}
	return x
}

// slope fits the exponent of a spectrum from one frequency to another, in Hz.
func slope(spectrum []float64, seconds int, from, to float64) float64 {
	var x, y []float64
	for i := int(from * float64(seconds)); i <= int(to*float64(seconds)); i++ {
		x = append(x, math.Log(float64(i)))
		y = append(y, math.Log(spectrum[i]))
	}
	_, b := stat.LinearRegression(x, y, nil, false)
	return b
}

// The background falls as claimed, over a decade and over its two halves, and
// has unit variance from the first sample on.
func TestBackgroundSpectrum(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	a := newAperiodic(rng)
	x := make([]float64, 1<<19)
	for i := range x {
		x[i] = a.next(rng)
	}
	const seconds = 8
	spectrum := density(x, seconds)
	for _, band := range [][2]float64{{1, 40}, {1, 6}, {6, 40}} {
		if got := slope(spectrum, seconds, band[0], band[1]); math.Abs(got+backgroundExponent) > 0.1 {
			t.Errorf("%g to %g Hz: the slope is %.3f, want %.1f within 0.1", band[0], band[1], got,
				-backgroundExponent)
		}
	}
	if sd := stat.StdDev(x, nil); math.Abs(sd-1) > 0.05 {
		t.Errorf("standard deviation %g, want 1", sd)
	}
	var first []float64
	for range 4000 {
		first = append(first, newAperiodic(rng).next(rng))
	}
	if sd := stat.StdDev(first, nil); math.Abs(sd-1) > 0.05 {
		t.Errorf("standard deviation of first samples %g, want 1", sd)
	}
}

// A rhythm's spectrum is the Lorentzian that its comment claims.
func TestRhythmSpectrum(t *testing.T) {
	const frequency, bandwidth, seconds = 10.0, 1.2, 8
	rng := rand.New(rand.NewPCG(3, 3))
	r := newRhythm(rng, frequency, bandwidth)
	x := make([]float64, 1<<21)
	for i := range x {
		x[i] = r.next(rng)
	}
	if sd := stat.StdDev(x, nil); math.Abs(sd-1) > 0.03 {
		t.Errorf("standard deviation %g, want 1", sd)
	}
	spectrum := density(x, seconds)
	for _, f := range []float64{8, 9, 9.5, 10, 10.5, 11, 12} {
		offset := (f - frequency) / (bandwidth / 2)
		want := 1 / (math.Pi * bandwidth / 2) / (1 + offset*offset)
		if got := spectrum[int(f*seconds)]; math.Abs(got/want-1) > 0.15 {
			t.Errorf("%g Hz: %g, want %g within 15 %%", f, got, want)
		}
	}
}

func TestHumHasItsAmplitudes(t *testing.T) {
	h := newHum(rand.New(rand.NewPCG(1, 1)), siteCount, sensorCount)
	for i := range sensorCount {
		got := math.Hypot(h.pattern[0][i], h.pattern[1][i])
		if i < siteCount && (got < 0.4 || got > 0.8) || i >= siteCount && got != 0 {
			t.Errorf("sensor %d receives %g µV", i, got)
		}
	}
}
