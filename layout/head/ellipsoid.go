package head

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/internal/geometry"
)

// An Ellipsoid is a head model about the origin. Its semi-axes in mm reproduce
// the arcs that were measured; they are not the anatomical breadth and length
// of the head. The plane z = 0 is the ring through Fpz, T7, Oz and T8.
type Ellipsoid struct {
	Right, Front, Up float64 // semi-axes along x, y and z, positive
}

// Sphere returns the ellipsoid with three equal semi-axes.
func Sphere(radius float64) Ellipsoid {
	return Ellipsoid{Right: radius, Front: radius, Up: radius}
}

// Landmarks returns the vertex at the top, and the nasion, the inion and the
// preauricular points at 5/8 of the half perimeter from it: the half perimeter
// is the middle 80 % of the arc from nasion to inion, or from ear to ear.
func (e Ellipsoid) Landmarks() layout.Landmarks {
	top := r3.Vec{Z: e.Up}
	below := func(rim r3.Vec) r3.Vec {
		return e.section(rim, top, r3.Scale(-1, rim)).At(-0.125)
	}
	return layout.Landmarks{
		Nasion:            below(r3.Vec{Y: e.Front}),
		Inion:             below(r3.Vec{Y: -e.Front}),
		LeftPreauricular:  below(r3.Vec{X: -e.Right}),
		RightPreauricular: below(r3.Vec{X: e.Right}),
		Vertex:            top,
	}
}

// Points farther than this from the ellipsoid, in units of its semi-axes, are
// not points of it. It is far above rounding and far below a tape's precision.
const onSurface = 1e-6

// Section returns the arc through three different points of the ellipsoid,
// exact to rounding.
func (e Ellipsoid) Section(from, via, to r3.Vec) (layout.Arc, error) {
	points := [3]r3.Vec{from, via, to}
	var u [3]r3.Vec
	for i, p := range points {
		u[i] = e.ToUnit(p)
		if !(math.Abs(r3.Norm(u[i])-1) <= onSurface) {
			return nil, &layout.SectionError{Points: points, Reason: "a point is not on the ellipsoid"}
		}
	}
	for i := range u {
		if r3.Norm(r3.Sub(u[i], u[(i+1)%3])) <= onSurface {
			return nil, &layout.SectionError{Points: points, Reason: "two points are the same"}
		}
	}
	return e.section(from, via, to), nil
}

// section cuts the unit sphere, where a section is a circle, and maps the
// circle back. The images of two perpendicular radii of the circle are
// conjugate half-diameters of an ellipse; turning them by a suitable angle
// gives its semi-axes.
func (e Ellipsoid) section(from, via, to r3.Vec) ellipticArc {
	u0, u1, u2 := e.ToUnit(from), e.ToUnit(via), e.ToUnit(to)
	normal := r3.Unit(r3.Cross(r3.Sub(u1, u0), r3.Sub(u2, u0)))
	centre := r3.Scale(r3.Dot(normal, u0), normal)
	e1 := r3.Sub(u0, centre)
	e2 := r3.Cross(normal, e1)

	f1, f2 := e.FromUnit(e1), e.FromUnit(e2)
	turn := math.Atan2(2*r3.Dot(f1, f2), r3.Norm2(f1)-r3.Norm2(f2)) / 2
	sin, cos := math.Sincos(turn)
	major := r3.Add(r3.Scale(cos, e1), r3.Scale(sin, e2))
	minor := r3.Sub(r3.Scale(cos, e2), r3.Scale(sin, e1))

	angle := func(u r3.Vec) float64 {
		d := r3.Sub(u, centre)
		return math.Atan2(r3.Dot(d, major), r3.Dot(d, minor))
	}
	curve := newEllipse(e.FromUnit(centre), e.FromUnit(minor), e.FromUnit(major))
	start, middle, end := angle(u0), angle(u1), angle(u2)
	// The circle runs from u0 over u1 to u2 counterclockwise about the
	// normal by the normal's choice, which is the direction of falling
	// angles here.
	middle = start - geometry.PositiveTurn(start-middle)
	end = start - geometry.PositiveTurn(start-end)
	return newEllipticArc(e, curve, start, middle, end)
}

// Normal returns the direction out of the ellipsoid at one of its points.
func (e Ellipsoid) Normal(p r3.Vec) r3.Vec {
	u := e.ToUnit(p)
	return r3.Unit(r3.Vec{X: u.X / e.Right, Y: u.Y / e.Front, Z: u.Z / e.Up})
}

// ToUnit maps the ellipsoid, and space with it, to the unit sphere.
func (e Ellipsoid) ToUnit(p r3.Vec) r3.Vec {
	return r3.Vec{X: p.X / e.Right, Y: p.Y / e.Front, Z: p.Z / e.Up}
}

// FromUnit maps the unit sphere to the ellipsoid: the inverse of ToUnit.
func (e Ellipsoid) FromUnit(u r3.Vec) r3.Vec {
	return r3.Vec{X: u.X * e.Right, Y: u.Y * e.Front, Z: u.Z * e.Up}
}

// Spherical reports whether the head is a sphere, as the circumference alone
// makes it.
func (e Ellipsoid) Spherical() bool { return e == Sphere(e.Up) }
