package layout

import (
	"fmt"
	"math"
)

// A StripPoint is a point of the middle line of a strip that lies flat, in mm.
type StripPoint struct {
	Distance float64 // along the arc from its start
	X, Y     float64 // from the start: ahead, and to the left with the outer side up
}

// The most points that a strip may have.
const maxStrip = 1 << 16

// Unroll returns the line that a strip of paper has to follow so that it lies
// on an arc when it is laid on the head: the plane curve with the arc's
// geodesic curvature at each distance. It begins at the origin and sets out
// along x. The points are at even distances, step mm apart or a little less,
// both ends included. The line is integrated to far below a micrometre; on a
// scan it is as good as the estimate of the curvature.
//
// The strip lies on the head if it is narrow: half its width must be small
// against the head's radius.
func Unroll(a Arc, step float64) ([]StripPoint, error) {
	if !(step > 0) || a.Length() > step*maxStrip {
		return nil, fmt.Errorf("a step of %g mm on an arc of %.0f mm: expected one that gives 1 to %d points",
			step,
			a.Length(), maxStrip)
	}
	n := max(1, int(math.Ceil(a.Length()/step-1e-9)))
	inner := max(1, int(math.Ceil(step))) // pieces of 1 mm at most
	h := a.Length() / float64(n*inner)
	strip := make([]StripPoint, 1, n+1)
	p, heading := StripPoint{}, 0.0
	bend := func(halves int) float64 { return a.Curvature(float64(halves) / float64(2*n*inner)) }
	before := bend(0)
	for i := range n * inner {
		middle, after := bend(2*i+1), bend(2*i+2)
		// The heading from the parabola through three curvatures, the
		// way by Simpson's rule.
		half := heading + h/24*(5*before+8*middle-after)
		end := heading + h/6*(before+4*middle+after)
		p.X += h / 6 * (math.Cos(heading) + 4*math.Cos(half) + math.Cos(end))
		p.Y += h / 6 * (math.Sin(heading) + 4*math.Sin(half) + math.Sin(end))
		heading, before = end, after
		if (i+1)%inner == 0 {
			p.Distance = a.Length() * float64(i+1) / float64(n*inner)
			strip = append(strip, p)
		}
	}
	return strip, nil
}
