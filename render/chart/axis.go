package chart

import (
	"math"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"

	"calotte/render/paper"
)

// An Axis runs from low to high, which is the smaller where the axis is turned
// over.
type Axis struct {
	Low, High float64
	Name      string // with its unit
	marker    plot.Ticker
	scale     plot.Normalizer
}

// NewAxis has ticks at round numbers, at most so many, between low and high.
func NewAxis(name string, low, high float64, most int) Axis {
	return Axis{Low: low, High: high, Name: name, marker: RoundTicks{Most: most}, scale: plot.LinearScale{}}
}

// RoundedAxis is NewAxis with its ends moved out to the next ticks.
func RoundedAxis(name string, low, high float64, most int) Axis {
	step := roundStep(high-low, most)
	low, high = math.Floor(low/step+1e-9)*step, math.Ceil(high/step-1e-9)*step
	return NewAxis(name, low, high, most+1)
}

// downAxis counts rows from the top, without ticks.
func downAxis(rows int) Axis {
	return Axis{Low: float64(rows), High: 0, marker: noTicks, scale: plot.LinearScale{}}
}

// at is where a value lies, 0 at the low end and 1 at the high one.
func (a Axis) at(v float64) float64 { return a.scale.Normalize(a.Low, a.High, v) }

// Ticks are those that lie on the axis.
func (a Axis) Ticks() []plot.Tick {
	const rounding = 1e-6
	var within []plot.Tick
	for _, t := range a.marker.Ticks(min(a.Low, a.High), max(a.Low, a.High)) {
		if at := a.at(t.Value); at >= -rounding && at <= 1+rounding {
			within = append(within, t)
		}
	}
	return within
}

// numbered are the ticks with a number.
func (a Axis) numbered() []plot.Tick { return slices.DeleteFunc(a.Ticks(), plot.Tick.IsMinor) }

// lengthOf a tick without a number is half that of the others.
func lengthOf(t plot.Tick) vg.Length {
	if t.IsMinor() {
		return paper.TickLength / 2
	}
	return paper.TickLength
}

// RoundTicks marks an axis at the multiples of the least of 1, 2 or 5 times a
// power of ten that makes at most Most ticks, two at least. Numbers have a true
// minus sign.
type RoundTicks struct {
	Most int
}

var _ plot.Ticker = RoundTicks{}

// Ticks implements plot.Ticker.
func (r RoundTicks) Ticks(low, high float64) []plot.Tick {
	if !(high > low) {
		return ticksAt(low)
	}
	step := roundStep(high-low, r.Most)
	var values []float64
	for k := math.Ceil(low/step - 1e-9); k*step <= high+1e-9*step; k++ {
		values = append(values, k*step+0) // + 0: no minus before a zero
	}
	return ticksAt(values...)
}

// roundStep is the least of 1, 2 or 5 times a power of ten that divides a
// length into fewer parts than most.
func roundStep(length float64, most int) float64 {
	raw := length / float64(max(1, most-1))
	power := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, m := range []float64{1, 2, 5, 10} {
		if m*power >= raw*(1-1e-9) {
			return m * power
		}
	}
	return 10 * power
}

// decades marks the powers of ten between low and high, and where they are few
// their doubles and fivefolds, too.
func decades(low, high float64) []plot.Tick {
	factors := []float64{1}
	if high/low < 300 {
		factors = []float64{1, 2, 5}
	}
	var values []float64
	for e := math.Floor(math.Log10(low)); e <= math.Ceil(math.Log10(high)); e++ {
		for _, f := range factors {
			if v := f * math.Pow(10, e); v >= low*(1-1e-9) && v <= high*(1+1e-9) {
				values = append(values, v)
			}
		}
	}
	return ticksAt(values...)
}

// noTicks leaves an axis bare.
var noTicks = plot.ConstantTicks(nil)

// ticksAt marks values with their numbers.
func ticksAt(values ...float64) plot.ConstantTicks {
	ticks := make(plot.ConstantTicks, len(values))
	for i, v := range values {
		ticks[i] = plot.Tick{Value: v, Label: paper.TickText(v)}
	}
	return ticks
}
