package cause

import (
	"math"

	"calotte/topo/measure"
)

// smoothed is the length, in s, of each of two running means on end, which pass
// 0.6 of 16 Hz and nothing of 40 Hz.
const smoothed = 1. / 40

// Parts are the sizes of what a row is made of, in its unit.
type Parts struct {
	Slow float64 // peak to peak, below about 18 Hz
	Fast float64 // peak to peak of the rest, the hum among it
	Rest float64 // standard deviation of the fast part without the hum
	Hum  float64 // amplitude; zero where it cannot be seen
}

// Hums reports whether most of the fast part is hum.
func (p Parts) Hums() bool { return p.Hum*p.Hum/2 > p.Rest*p.Rest }

// A Meter splits rows of one length. It is for one goroutine.
type Meter struct {
	hum        *measure.HumMeter // nil: cannot be seen
	half       int               // samples on each side of a running mean
	once, slow []float64
}

// NewMeter prepares for rows of so many samples at a rate in Hz. Mains, in Hz,
// may be zero, where none is looked for; nor is it where the rate or the length
// do not show it.
func NewMeter(samples int, rate, mains float64) *Meter {
	m := &Meter{half: max(1, int(math.Round(smoothed*rate/2))),
		once: make([]float64, samples), slow: make([]float64, samples)}
	if hum, err := measure.NewHumMeter(samples, rate, mains); err == nil {
		m.hum = hum
	}
	return m
}

// Parts splits a row. The slow part is the meter's own until the next call.
func (m *Meter) Parts(row []float64) (p Parts, slow []float64) {
	if m.hum != nil {
		p.Hum = m.hum.Amplitude(row)
	}
	m.smooth(m.once, row)
	m.smooth(m.slow, m.once)
	var slowest, fastest reach
	squares := 0.
	for t, x := range row {
		slowest.add(m.slow[t])
		fast := x - m.slow[t]
		fastest.add(fast)
		squares += fast * fast
	}
	p.Slow, p.Fast = slowest.size(), fastest.size()
	p.Rest = math.Sqrt(max(0, squares/float64(len(row))-p.Hum*p.Hum/2))
	return p, m.slow
}

// smooth takes running means, of fewer samples at the ends.
func (m *Meter) smooth(to, row []float64) {
	n := len(row)
	for t := range n {
		half := min(m.half, t, n-1-t)
		sum := 0.
		for _, x := range row[t-half : t+half+1] {
			sum += x
		}
		to[t] = sum / float64(2*half+1)
	}
}

// A reach is from the lowest to the highest value.
type reach struct {
	low, high float64
	begun     bool
}

func (r *reach) add(x float64) {
	if !r.begun {
		r.low, r.high, r.begun = x, x, true
	}
	r.low, r.high = min(r.low, x), max(r.high, x)
}

func (r *reach) size() float64 { return r.high - r.low }
