package unmix

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// A Watched is what components are held against.
type Watched struct {
	Data     [][]float64 // that were separated, row × sample, µV: pieces of a second, one after the other
	Rate     float64     // Hz
	Vertical []float64   // movement of the eyes and lids, a sample each, µV; nil: not known
	Sideways []float64   // of the eyes; nil: not known
	Front    []bool      // of each row, whether it is near the eyes; nil: not known
	Mains    float64     // Hz; 0: 50 or 60, of which the louder
}

// Traits are the numbers by which components are told apart. What is not known
// is NaN.
type Traits struct {
	Row      int     // with the largest weight of its map
	Share    float64 // of the power at all rows, %
	Blink    float64 // size of the correlation with the vertical eye signal
	Sideways float64 // with the one sideways
	Front    float64 // share of the squares of the map that lies near the eyes
	Fast     float64 // share of the power from 2 Hz on that lies above 20 Hz, the mains aside
	Slope    float64 // of the logarithm of power over that of frequency, 7 to 45 Hz, the mains aside
	Rhythm   float64 // autocorrelation of the size at the best lag of a heart, 0.5 to 1.5 s, above its median
	Kurtosis float64 // of the map: 3 for a normal one, the number of rows for a single electrode
	Mains    float64 // share of the power from 2 Hz on that lies within 1 Hz of the mains and of twice that

	Spectrum []float64 // by Hz from 0: power, relative to the sum of all components' at the rows, µV²/Hz
	Strong   []int     // samples of the largest values, a second or more apart, the largest first
}

// strongest is how many of a component's largest pieces are told.
const strongest = 3

// Traits are those of all components.
func (s *Separation) Traits(w Watched) []Traits {
	n, _ := s.Weights.Dims()
	list, total := make([]Traits, n), 0.0
	for _, row := range w.Data {
		total += stat.PopVariance(row, nil)
	}
	if w.Mains == 0 {
		w.Mains = w.louderMains()
	}
	vertical, sideways := w.Vertical, w.Sideways
	eachChunk(n, func(k int) {
		y := s.Activation(k, w.Data)
		t := &list[k]
		column := mat.Col(nil, k, s.Maps)
		power := 0.0
		for i, x := range column {
			power += x * x
			if abs(x) > abs(column[t.Row]) {
				t.Row = i
			}
		}
		t.Share = 100 * power / total
		t.Blink, t.Sideways = alike(y, vertical), alike(y, sideways)
		t.Front = share(column, w.Front)
		t.Kurtosis = kurtosis(column)
		t.Spectrum = w.spectrum(y)
		t.Fast, t.Mains, t.Slope = w.shares(t.Spectrum)
		for f := range t.Spectrum {
			t.Spectrum[f] *= power
		}
		t.Rhythm = rhythm(y, w.Rate)
		t.Strong = strong(y, int(w.Rate))
	})
	return list
}

// Activation is a component's course over data, row × sample in µV, less its
// mean.
func (s *Separation) Activation(k int, data [][]float64) []float64 {
	y := make([]float64, len(data[0]))
	for i, row := range data {
		weight := s.Weights.At(k, i)
		for t, x := range row {
			y[t] += weight * x
		}
	}
	mean := stat.Mean(y, nil)
	for t := range y {
		y[t] -= mean
	}
	return y
}

// alike is the size of the correlation, NaN where there is nothing to compare
// with.
func alike(y, with []float64) float64 {
	if with == nil {
		return math.NaN()
	}
	return abs(stat.Correlation(y, with, nil))
}

// share is that of some values' squares, NaN where they are not known.
func share(values []float64, some []bool) float64 {
	if some == nil {
		return math.NaN()
	}
	part, total := 0.0, 0.0
	for i, x := range values {
		total += x * x
		if some[i] {
			part += x * x
		}
	}
	return part / total
}

// kurtosis is the fourth moment about zero over the square of the second.
func kurtosis(values []float64) float64 {
	second, fourth := 0.0, 0.0
	for _, x := range values {
		second += x * x
		fourth += x * x * x * x
	}
	return fourth / (second * second) * float64(len(values))
}

// spectrum is the power by Hz from 0, the mean over seconds of the transform
// under Hann's window (P. D. Welch, IEEE Trans Audio Electroacoust 15:70,
// 1967).
func (w Watched) spectrum(y []float64) []float64 {
	n := int(math.Round(w.Rate))
	window, energy := make([]float64, n), 0.0
	for k := range window {
		window[k] = (1 - math.Cos(2*math.Pi*(float64(k)+0.5)/float64(n))) / 2
		energy += window[k] * window[k]
	}
	transform := fourier.NewFFT(n)
	power, piece := make([]float64, n/2+1), make([]float64, n)
	pieces := len(y) / n
	var spectrum []complex128
	for p := range pieces {
		for k := range piece {
			piece[k] = y[p*n+k] * window[k]
		}
		spectrum = transform.Coefficients(spectrum, piece)
		for f, c := range spectrum {
			size := cmplx.Abs(c)
			power[f] += 2 * size * size / (energy * w.Rate * float64(pieces))
		}
	}
	return power
}

// Limits of frequency in Hz, see [Traits].
const (
	lowestHz    = 2
	fastHz      = 20
	slopeFromHz = 7
	slopeToHz   = 45
	nearMainsHz = 1
)

// shares are those of the fast frequencies and of the mains, and the slope.
func (w Watched) shares(power []float64) (fast, mains, slope float64) {
	var rest, total float64
	var x, y []float64
	for f := lowestHz; f < len(power); f++ {
		total += power[f]
		if w.nearMains(f) {
			mains += power[f]
			continue
		}
		rest += power[f]
		if f > fastHz {
			fast += power[f]
		}
		if f >= slopeFromHz && f <= slopeToHz {
			x, y = append(x, math.Log(float64(f))), append(y, math.Log(power[f]))
		}
	}
	_, slope = stat.LinearRegression(x, y, nil, false)
	return fast / rest, mains / total, slope
}

func (w Watched) nearMains(f int) bool {
	return math.Abs(float64(f)-w.Mains) <= nearMainsHz || math.Abs(float64(f)-2*w.Mains) <= nearMainsHz
}

// louderMains is 50 or 60 Hz, whichever stands out more of its surroundings in
// the rows.
func (w Watched) louderMains() float64 {
	best, loudest := 50.0, 0.0
	for _, f := range []int{50, 60} {
		sum := 0.0
		for _, row := range w.Data {
			if power := w.spectrum(row); f+3 < len(power) {
				sum += power[f] / (power[f-3] + power[f+3])
			}
		}
		if sum > loudest {
			best, loudest = float64(f), sum
		}
	}
	return best
}

// Lags at which a heart beats, s, and how long a beat is taken to be.
const (
	shortestBeat = 0.5
	longestBeat  = 1.5
	beatWidth    = 0.05
)

// rhythm is how much the size of a component comes back after the best lag of a
// heart, more than after others.
func rhythm(y []float64, rate float64) float64 {
	step := max(1, int(rate*beatWidth/2))
	size := make([]float64, len(y)/step)
	for k := range size {
		for _, x := range y[k*step : (k+1)*step] {
			size[k] += x * x
		}
		size[k] = math.Sqrt(size[k])
	}
	mean, variance := stat.PopMeanVariance(size, nil)
	each := rate / float64(step)
	var list []float64
	for lag := int(shortestBeat * each); lag <= int(longestBeat*each) && lag < len(size); lag++ {
		sum := 0.0
		for k := lag; k < len(size); k++ {
			sum += (size[k] - mean) * (size[k-lag] - mean)
		}
		list = append(list, sum/variance/float64(len(size)))
	}
	if len(list) < 2 {
		return math.NaN()
	}
	slices.Sort(list)
	return list[len(list)-1] - list[len(list)/2]
}

// strong are the samples of the largest values, apart from each other.
func strong(y []float64, apart int) []int {
	var peaks []int
	for from := 0; from+apart <= len(y); from += apart {
		best := from
		for t := from; t < from+apart; t++ {
			if abs(y[t]) > abs(y[best]) {
				best = t
			}
		}
		peaks = append(peaks, best)
	}
	slices.SortStableFunc(peaks, func(a, b int) int { return cmp.Compare(abs(y[b]), abs(y[a])) })
	return peaks[:min(strongest, len(peaks))]
}
