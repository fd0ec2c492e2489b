package layout

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// A Surface is the outside of a head, in mm. Sites are placed on any surface in
// the same way, be it computed from tape measures or scanned.
type Surface interface {
	// Section returns the arc in which the plane through three points cuts
	// the surface, from one point over the second to the third. The points
	// lie on the surface and differ.
	Section(from, via, to r3.Vec) (Arc, error)
	// Distance returns the length in mm of the shortest tape between two
	// points of the surface: what is measured from a site already marked.
	// Points so far apart that a tape has several ways are refused.
	Distance(from, to r3.Vec) (float64, error)
	// Landmarks returns the points from which all sites are measured.
	Landmarks() Landmarks
}

// An Arc is a line on a surface as a tape lies on it.
type Arc interface {
	// Length returns the arc's length in mm.
	Length() float64
	// At returns the point at a fraction of the length, 0 at the start and
	// 1 at the end. Other fractions continue the section beyond its ends.
	At(fraction float64) r3.Vec
	// Curvature returns the geodesic curvature at a fraction of the length,
	// in 1/mm: how much the arc turns within the surface, to the left as
	// seen from outside when positive. A strip that is cut with this
	// curvature lies on the arc; where it is zero a straight tape does. Its
	// inverse is the strip's radius.
	Curvature(fraction float64) float64
	// Parts returns the two parts that meet at the middle one of the three
	// points that made the arc.
	Parts() (before, after Arc)
}

// Landmarks are the four points that are felt on a head, and the vertex, where
// the arcs from nasion to inion and from ear to ear halve each other.
type Landmarks struct {
	Nasion, Inion     r3.Vec
	LeftPreauricular  r3.Vec
	RightPreauricular r3.Vec
	Vertex            r3.Vec
}

// Named gives the landmarks the names that rules start from.
func (l Landmarks) Named() map[Name]r3.Vec {
	return map[Name]r3.Vec{
		"Nz": l.Nasion, "Iz": l.Inion,
		"LPA": l.LeftPreauricular, "RPA": l.RightPreauricular,
		"Cz": l.Vertex,
	}
}

// A SectionError says why three points give no arc.
type SectionError struct {
	Points [3]r3.Vec // from, via, to in mm
	Reason string
}

func (e *SectionError) Error() string {
	p := e.Points
	return fmt.Sprintf("no section through (%.1f, %.1f, %.1f), (%.1f, %.1f, %.1f) and (%.1f, %.1f, %.1f) mm: %s",
		p[0].X, p[0].Y, p[0].Z, p[1].X, p[1].Y, p[1].Z, p[2].X, p[2].Y, p[2].Z, e.Reason)
}

// Between points that the centre of an ellipsoid, stretched to a sphere, sees
// at a wider angle there can be several ways of nearly the same length.
const WidestDistance = 2 * math.Pi / 3

// ErrWide is why a Distance is refused between points too far apart.
var ErrWide = errors.New("the two points are too far apart: a tape has several ways, measure from a site between them")
