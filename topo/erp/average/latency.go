package average

import (
	"fmt"
	"math"

	"calotte/topo/measure"
	"calotte/topo/unit"
)

// At returns the amplitude of each site in µV at an instant, interpolated
// between samples by the not-a-knot cubic spline over the whole epoch, or the
// mean over a window's samples, ends included. Latencies outside the data are
// an error, and so are a window between two samples and an instant between the
// samples of fewer than four.
func (a *Average) At(l unit.Latency) ([]float64, error) {
	return a.read(a.Mean, l)
}

// NoiseAt returns the median over sites of the standard error at a latency, in
// µV; over a window the mean of the samples' errors, which is no less than the
// error of the window's mean. It is NaN when standard errors are not known.
func (a *Average) NoiseAt(l unit.Latency) (float64, error) {
	if a.SEM == nil {
		return math.NaN(), nil
	}
	sem, err := a.read(a.SEM, l)
	if err != nil {
		return 0, err
	}
	return measure.Median(sem), nil
}

func (a *Average) read(rows [][]float64, l unit.Latency) ([]float64, error) {
	from, err := a.position(l.From, l)
	if err != nil {
		return nil, err
	}
	if !l.IsWindow() {
		return a.instant(rows, l.From, from)
	}
	to, err := a.position(l.To, l)
	if err != nil {
		return nil, err
	}
	first, last := int(math.Ceil(from-tolerance)), int(math.Floor(to+tolerance))
	if last < first {
		return nil, fmt.Errorf("window %s holds no sample at %.4g Hz: widen it", l.Label(), a.Rate())
	}
	values := make([]float64, len(rows))
	for i, row := range rows {
		for _, x := range row[first : last+1] {
			values[i] += x
		}
		values[i] /= float64(last + 1 - first)
	}
	return values, nil
}

// position is t as a fractional sample index; l is what the user asked for.
func (a *Average) position(t unit.Time, l unit.Latency) (float64, error) {
	first, last := a.Times[0], a.Times[len(a.Times)-1]
	end := float64(len(a.Times) - 1)
	p := (float64(t) - first) * a.Rate()
	if !(p >= -tolerance && p <= end+tolerance) {
		data := unit.Over(unit.Readable(first), unit.Readable(last))
		return 0, fmt.Errorf("latency %s is outside the data, which span %s: choose one inside", l.Label(),
			data.Label())
	}
	return min(max(p, 0), end), nil
}

func (a *Average) instant(rows [][]float64, t unit.Time, position float64) ([]float64, error) {
	values := make([]float64, len(rows))
	if k := math.Round(position); math.Abs(position-k) <= tolerance {
		for i, row := range rows {
			values[i] = row[int(k)]
		}
		return values, nil
	}
	if len(a.Times) < 4 {
		return nil, fmt.Errorf("%d samples are too few to interpolate between: ask for a sampled latency",
			len(a.Times))
	}
	return cubicAt(a.Times, rows, float64(t)), nil
}

// tolerance is how far, in samples, a time may lie outside a sample and still
// be taken as that sample's: decimal times are rarely whole samples in binary.
const tolerance = 1e-6
