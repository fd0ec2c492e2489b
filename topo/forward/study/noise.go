package study

import (
	"math"
	"math/rand/v2"
)

// backgroundExponent is β of the background's power spectrum 1/f^β between
// lowestCorner and about 60 Hz. Resting recordings lie around 1 to 1.5 (common
// practice, no source).
const backgroundExponent = 1.2

// The background is a sum of relaxation processes with corners two octaves
// apart: Lorentzians of variance f^(1−β) at each corner f add up to 1/f^β.
// Below the lowest corner the spectrum is flat.
const (
	lowestCorner = 0.1 // Hz
	corners      = 6
)

// aperiodic is stationary Gaussian noise of unit variance with a 1/f^β
// spectrum, a sample at a time.
type aperiodic struct {
	decay, kick, state [corners]float64
}

// newAperiodic starts the noise in its stationary state, so that the first
// sample is as good as any other.
func newAperiodic(rng *rand.Rand) *aperiodic {
	a := new(aperiodic)
	var deviation [corners]float64
	total := 0.0
	for k := range deviation {
		corner := lowestCorner * math.Exp2(2*float64(k))
		variance := math.Pow(corner, 1-backgroundExponent)
		total += variance
		deviation[k] = math.Sqrt(variance)
		a.decay[k] = math.Exp(-2 * math.Pi * corner / SampleRate)
	}
	for k, sd := range deviation {
		sd /= math.Sqrt(total)
		a.kick[k] = sd * math.Sqrt(1-a.decay[k]*a.decay[k])
		a.state[k] = sd * rng.NormFloat64()
	}
	return a
}

func (a *aperiodic) next(rng *rand.Rand) float64 {
	sum := 0.0
	for k := range a.state {
		sum += a.state[k]
		a.state[k] = a.decay[k]*a.state[k] + a.kick[k]*rng.NormFloat64()
	}
	return sum
}

// rhythm is stationary Gaussian noise of unit variance in a narrow band: an
// oscillation that waxes and wanes. Its spectrum is a Lorentzian around the
// frequency, bandwidth wide at half power; the two are in Hz.
type rhythm struct {
	kick     float64
	rotation complex128
	state    complex128
}

func newRhythm(rng *rand.Rand, frequency, bandwidth float64) *rhythm {
	decay := math.Exp(-math.Pi * bandwidth / SampleRate)
	sin, cos := math.Sincos(2 * math.Pi * frequency / SampleRate)
	return &rhythm{
		kick:     math.Sqrt(1 - decay*decay),
		rotation: complex(decay*cos, decay*sin),
		state:    complex(rng.NormFloat64(), rng.NormFloat64()),
	}
}

func (r *rhythm) next(rng *rand.Rand) float64 {
	value := real(r.state)
	r.state = r.rotation*r.state + complex(r.kick*rng.NormFloat64(), r.kick*rng.NormFloat64())
	return value
}

// ongoing is activity that never stops: each pattern has its own noise, and
// all draw from one stream.
type ongoing[N interface{ next(*rand.Rand) float64 }] struct {
	pattern [][]float64 // one row a noise, one value a sensor, µV
	noises  []N
	rng     *rand.Rand
}

func (a *ongoing[N]) patterns() [][]float64 { return a.pattern }

func (a *ongoing[N]) fill(_ int, rows [][]float64) {
	for j, noise := range a.noises {
		for i := range rows[j] {
			rows[j][i] = noise.next(a.rng)
		}
	}
}

// hum is the mains picked up by the leads: a sine and a cosine, which each
// sensor receives in its own proportion.
type hum struct {
	pattern   [][]float64 // two rows, one value a sensor, µV
	frequency float64     // Hz
}

// newHum gives each of the sensors an amplitude of 0.4 to 0.8 µV in any phase;
// the sensors after them receive none.
func newHum(rng *rand.Rand, receiving, sensors int) *hum {
	h := &hum{
		pattern:   [][]float64{make([]float64, sensors), make([]float64, sensors)},
		frequency: 50 + 0.01*rng.NormFloat64(),
	}
	for i := range receiving {
		amplitude, phase := 0.4*(1+rng.Float64()), 2*math.Pi*rng.Float64()
		h.pattern[0][i], h.pattern[1][i] = amplitude*math.Cos(phase), amplitude*math.Sin(phase)
	}
	return h
}

func (h *hum) patterns() [][]float64 { return h.pattern }

func (h *hum) fill(first int, rows [][]float64) {
	for i := range rows[0] {
		sin, cos := math.Sincos(2 * math.Pi * h.frequency * float64(first+i) / SampleRate)
		rows[0][i], rows[1][i] = cos, sin
	}
}
