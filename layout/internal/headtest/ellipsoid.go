package headtest

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"calotte/layout"
	"calotte/layout/head"
)

// AnyEllipsoid draws ellipsoids far beyond a head's proportions.
func AnyEllipsoid(t *rapid.T) head.Ellipsoid {
	axis := rapid.Float64Range(50, 150)
	return head.Ellipsoid{Right: axis.Draw(t, "right"), Front: axis.Draw(t, "front"), Up: axis.Draw(t, "up")}
}

// AnyPoint draws a point of an ellipsoid.
func AnyPoint(t *rapid.T, e head.Ellipsoid, label string) r3.Vec {
	z := rapid.Float64Range(-1, 1).Draw(t, label+" height")
	sin, cos := math.Sincos(rapid.Float64Range(-math.Pi, math.Pi).Draw(t, label+" longitude"))
	r := math.Sqrt(1 - z*z)
	return e.FromUnit(r3.Vec{X: r * cos, Y: r * sin, Z: z})
}

// AnySection draws three points that are well apart, so that the plane through
// them does not depend on rounding.
func AnySection(t *rapid.T) (e head.Ellipsoid, from, via, to r3.Vec, arc layout.Arc) {
	e = AnyEllipsoid(t)
	from, via, to = AnyPoint(t, e, "from"), AnyPoint(t, e, "via"), AnyPoint(t, e, "to")
	if min(Apart(from, via), Apart(via, to), Apart(to, from)) < 10 {
		t.Skip("points too close")
	}
	arc, err := e.Section(from, via, to)
	if err != nil {
		t.Fatal(err)
	}
	return e, from, via, to, arc
}
