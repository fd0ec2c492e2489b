package filter

import (
	"fmt"
	"math"
	"math/cmplx"

	"calotte/topo/unit"
)

// Kind is what a part of a filter does.
type Kind int

const (
	HighPass Kind = iota // passes what is above its cut-off
	LowPass              // passes what is below its cut-off
	Notch                // stops the mains frequency and its multiples
)

func (k Kind) String() string { return [...]string{"high-pass", "low-pass", "notch"}[k] }

// cure is what to do where a filter is too long. It is long where its
// transition is narrow.
func (k Kind) cure() string {
	return [...]string{"raise the cut-off", "move the cut-off away from 0 Hz and from half the sampling rate",
		"filter without it"}[k]
}

// A Part is one of the filters that are applied together.
type Part struct {
	Kind       Kind
	Cutoff     unit.Frequency // of a notch: the mains frequency
	Transition unit.Frequency // full width, from pass to stop band
	half       []float64      // tap 0 and the taps on one side of it
}

// Taps is the length of the part's impulse response, an odd number of samples.
func (p Part) Taps() int { return 2*len(p.half) - 1 }

// A Filter is a designed filter for one sampling rate. It does not change and
// may be used by several goroutines.
type Filter struct {
	Design
	Rate  float64 // Hz
	Parts []Part
}

// Reach is the number of samples before and after each sample that its filtered
// value depends on.
func (f *Filter) Reach() int {
	reach := 0
	for _, p := range f.Parts {
		reach += len(p.half) - 1
	}
	return reach
}

// Taps is the length of the whole impulse response, 2·Reach()+1 samples.
func (f *Filter) Taps() int { return 2*f.Reach() + 1 }

// Shortest is the fewest samples that a stretch without a gap needs to be
// filtered.
func (f *Filter) Shortest() int { return f.Reach() + 1 }

// Check returns an error when every segment is too short to be filtered. It
// says how long the longest is and what would help.
func (f *Filter) Check(lengths []int) error {
	longest := 0
	for _, n := range lengths {
		longest = max(longest, n)
	}
	if longest >= f.Shortest() {
		return nil
	}
	slowest := f.Parts[0]
	for _, p := range f.Parts {
		if len(p.half) > len(slowest.half) {
			slowest = p
		}
	}
	return fmt.Errorf("the longest stretch without a gap holds %v, the filter needs %v for its %v of %v: %s or "+
		"leave it out",
		f.seconds(longest), f.seconds(f.Shortest()), slowest.Kind, slowest.Cutoff, slowest.Kind.cure())
}

func (f *Filter) seconds(samples int) string {
	return fmt.Sprintf("%.4g s", float64(samples)/f.Rate)
}

// Impulse returns the impulse response: Taps() numbers, symmetric about the
// middle one.
func (f *Filter) Impulse() []float64 {
	h := []float64{1}
	for _, p := range f.Parts {
		h = convolve(h, p.half)
	}
	return h
}

// convolve returns a kernel convolved with a symmetric one given by its half.
func convolve(a, half []float64) []float64 {
	reach := len(half) - 1
	y := make([]float64, len(a)+2*reach)
	for i, x := range a {
		if x == 0 {
			continue
		}
		for k, h := range half {
			y[i+reach+k] += x * h
			if k > 0 {
				y[i+reach-k] += x * h
			}
		}
	}
	return y
}

// Response returns the gain at a frequency. It is real, since the filter has
// zero phase; in the stop bands its sign may be negative.
func (f *Filter) Response(at unit.Frequency) float64 {
	gain := 1.0
	for _, p := range f.Parts {
		gain *= response(p.half, 2*math.Pi*float64(at)/f.Rate)
	}
	return gain
}

// Decibels expresses a gain: −6 for a half, −∞ for none.
func Decibels(gain float64) float64 { return 20 * math.Log10(math.Abs(gain)) }

// response adds up h(0) + 2 Σ h(k) cos kω. The cosines come from turning a
// pointer on, which over a million taps loses no more than ten digits.
func response(half []float64, omega float64) float64 {
	step, pointer := cmplx.Rect(1, omega), complex(1, 0)
	gain := half[0]
	for _, h := range half[1:] {
		pointer *= step
		gain += 2 * h * real(pointer)
	}
	return gain
}
