package main

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/topo"
	"calotte/topo/measure"
)

const (
	capSlide = 5.                // mm
	capTwist = 3 * math.Pi / 180 // about the vertical, where Cz does not slide
	// beyondLinear is how far, in mm, the change is not taken to grow in proportion.
	beyondLinear = 15.
)

// mirroredDifference reads the spline where the pair would sit if its sites mirrored each
// other exactly: at the middle between the right one and the left one's mirror image, and
// at the mirror image of that.
func mirroredDifference(spline *topo.Spline, c *topo.Coefficients, left, right r3.Vec, column int) float64 {
	mirror := func(p r3.Vec) r3.Vec { return r3.Vec{X: -p.X, Y: p.Y, Z: p.Z} }
	middle := r3.Scale(.5, r3.Add(right, mirror(left)))
	values := spline.Interpolate([]r3.Vec{middle, mirror(middle)}, topo.Potential, c)
	return values.At(0, column) - values.At(1, column)
}

// crooked asks the spline what a cap that sat otherwise would have read.
func (r *asymmetryRow) crooked(spline *topo.Spline, c *topo.Coefficients, left, right r3.Vec, column int, radius float64) {
	change := func(m measure.CapMove, angle float64) float64 {
		return measure.CapChange(spline, c, left, right, func(p r3.Vec) r3.Vec { return m.Moved(p, angle) })[column]
	}
	r.change = [3]float64{
		change(measure.CapToSide, capSlide/radius), change(measure.CapForward, capSlide/radius), change(measure.CapTwisted, capTwist),
	}
	slope := (change(measure.CapToSide, 1/radius) - change(measure.CapToSide, -1/radius)) / 2 // µV/mm
	r.need, r.touch = math.NaN(), math.NaN()
	if slope == 0 {
		return
	}
	r.need = -r.difference / slope // as if the change had been in proportion
	if r.low > 0 {
		r.touch = -r.low / slope
	} else if r.high < 0 {
		r.touch = -r.high / slope
	}
}
