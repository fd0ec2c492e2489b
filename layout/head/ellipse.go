package head

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
)

// An ellipse in space: centre + minor·cos φ + major·sin φ. Counting the angle
// from the minor axis makes its length an elliptic integral of the second kind.
type ellipse struct {
	centre, minor, major r3.Vec
	semiMajor            float64
	parameter            float64 // m = 1 − (minor/major)²
	quarter              float64 // a quarter of the perimeter
}

func newEllipse(centre, minor, major r3.Vec) ellipse {
	p2, q2 := r3.Norm2(major), r3.Norm2(minor)
	e := ellipse{centre: centre, minor: minor, major: major}
	e.semiMajor = math.Sqrt(p2)
	e.parameter = max(0, (p2-q2)/p2) // rounding on a sphere can give less
	e.quarter = e.semiMajor * mathext.CompleteE(e.parameter)
	return e
}

func (e ellipse) point(angle float64) r3.Vec {
	sin, cos := math.Sincos(angle)
	return r3.Add(e.centre, r3.Add(r3.Scale(cos, e.minor), r3.Scale(sin, e.major)))
}

// distance returns the length from angle 0 to any angle, negative backwards.
// The integral grows by half a perimeter with each half turn.
func (e ellipse) distance(angle float64) float64 {
	turns := math.Round(angle / math.Pi)
	rest := angle - turns*math.Pi
	return 2*turns*e.quarter + e.semiMajor*mathext.EllipticE(rest, e.parameter)
}

// angle inverts distance by Newton's method. The slope of distance lies between
// the semi-axes, so that the steps settle from anywhere on a head's sections.
func (e ellipse) angle(distance float64) float64 {
	angle := distance / e.quarter * math.Pi / 2
	for range 50 {
		sin := math.Sin(angle)
		slope := e.semiMajor * math.Sqrt(1-e.parameter*sin*sin)
		step := (e.distance(angle) - distance) / slope
		angle -= step
		if math.Abs(step) <= 1e-15*(1+math.Abs(angle)) {
			break
		}
	}
	return angle
}

// An ellipticArc is a piece of an ellipse. Distances count along the ellipse.
type ellipticArc struct {
	surface            Ellipsoid
	curve              ellipse
	start, middle, end float64
}

func newEllipticArc(surface Ellipsoid, curve ellipse, start, middle, end float64) ellipticArc {
	return ellipticArc{surface, curve, curve.distance(start), curve.distance(middle), curve.distance(end)}
}

func (a ellipticArc) Length() float64 { return math.Abs(a.end - a.start) }

func (a ellipticArc) At(fraction float64) r3.Vec {
	return a.curve.point(a.curve.angle(a.start + fraction*(a.end-a.start)))
}

// Curvature is that of the ellipse, as far as it lies in the tangent plane.
func (a ellipticArc) Curvature(fraction float64) float64 {
	sin, cos := math.Sincos(a.curve.angle(a.start + fraction*(a.end-a.start)))
	outward := r3.Add(r3.Scale(cos, a.curve.minor), r3.Scale(sin, a.curve.major))
	ahead := r3.Sub(r3.Scale(cos, a.curve.major), r3.Scale(sin, a.curve.minor))
	if a.end < a.start {
		ahead = r3.Scale(-1, ahead)
	}
	normal := a.surface.Normal(r3.Add(a.curve.centre, outward))
	left := r3.Unit(r3.Cross(normal, ahead))
	return -r3.Dot(outward, left) / r3.Norm2(ahead)
}

// Parts halves each part again where it is split once more.
func (a ellipticArc) Parts() (before, after layout.Arc) {
	piece := func(start, end float64) layout.Arc {
		return ellipticArc{a.surface, a.curve, start, (start + end) / 2, end}
	}
	return piece(a.start, a.middle), piece(a.middle, a.end)
}
