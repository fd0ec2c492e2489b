// Package palette makes colour scales in OKLab to a stated recipe.
//
// A scale for signed values has to keep three promises: what is as far from
// zero on either side looks as strong; equal steps of value look like equal
// steps of colour; and nobody, whatever the cones of their eyes, takes minus
// for plus. The recipe keeps them by construction in lightness and chroma; the
// package's tests compute the rest, under the three dichromacies too. In grey
// print the two sides are alike on purpose, since they are equally strong: the
// figure then tells the signs apart by dashed contours.
package palette

import (
	"image/color"
	"math"
	"sync"
)

// A Scale turns a value from -1 to 1 into a colour.
type Scale struct {
	table func() *[steps]color.RGBA
}

// steps is the number of a scale's colours: 255 on each side of zero, finer
// than eight bits of lightness can show.
const steps = 511

// Diverging is the scale of signed values: indigo by way of blue on the
// negative side, madder red by way of ochre on the positive one, through a
// white that is just off the paper's.
//
// With t = |value|, in OKLCh: lightness 0.97 − 0.55 t; chroma
// 0.155 (1 − (1 − t)^1.8), which rises quickly at first so that small values
// have a colour; hue 215° + 53° t on the negative side, 75° − 50° t on the
// positive one.
var Diverging = Scale{tableOf(diverging.at)}

var diverging = recipe{
	middle: 0.97, end: 0.42,
	chroma: 0.155, rise: 1.8,
	negative: hues{215, 268}, positive: hues{75, 25},
}

// Sequential is the scale of values that are never negative, from 0 to 1, such
// as errors and shares: as on a chart of the sea, the deeper the darker. Below
// zero is the colour of zero.
//
// In OKLCh: lightness 0.97 − 0.60 t; chroma 0.015 + 0.105 (1 − (1 − t)^1.6);
// hue 130° + 125° t.
var Sequential = Scale{tableOf(func(value float64) lab {
	t := max(0, value)
	return polar(0.97-0.60*t, 0.015+0.105*(1-math.Pow(1-t, 1.6)), 130+125*t)
})}

// Grey is the scale of signed values for print without colour: lightness rises
// evenly from 0.46 at -1 to 0.98 at 1, which leaves the darkest end light
// enough for lines and marks in ink.
var Grey = Scale{tableOf(func(value float64) lab { return polar(0.72+0.26*value, 0, 0) })}

// GreySequential is the same for values from 0 to 1, the larger the darker.
var GreySequential = Scale{tableOf(func(value float64) lab { return polar(0.98-0.52*max(0, value), 0, 0) })}

// Missing is the colour of what is not a number: a grey of lightness 0.75.
var Missing = color.RGBA{R: 0xae, G: 0xae, B: 0xae, A: 0xff}

// At returns the colour of a value. Values beyond -1 and 1 have the colours of
// the ends; NaN is Missing.
func (s Scale) At(value float64) color.RGBA {
	if math.IsNaN(value) {
		return Missing
	}
	const half = (steps - 1) / 2
	return s.table()[int(math.Round(half*(1+max(-1, min(1, value)))))]
}

// A recipe is a diverging scale in OKLCh.
type recipe struct {
	middle, end        float64 // lightness at zero and at both ends, even between
	chroma, rise       float64 // at both ends, and how early it comes
	negative, positive hues
}

// hues in degrees, near zero and at the end of one side.
type hues struct{ start, end float64 }

func (r recipe) at(value float64) lab {
	t := math.Abs(value)
	side := r.positive
	if value < 0 {
		side = r.negative
	}
	return polar(
		r.middle+(r.end-r.middle)*t,
		r.chroma*(1-math.Pow(1-t, r.rise)),
		side.start+(side.end-side.start)*t,
	)
}

// tableOf computes the colours of a scale at first use.
func tableOf(at func(value float64) lab) func() *[steps]color.RGBA {
	return sync.OnceValue(func() *[steps]color.RGBA {
		var t [steps]color.RGBA
		for i := range t {
			t[i] = at(stepValue(i)).linear().rgba()
		}
		return &t
	})
}

// stepValue is the value in the middle of a step.
func stepValue(i int) float64 { return 2*float64(i)/(steps-1) - 1 }
