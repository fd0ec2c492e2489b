package scan

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout/internal/geometry"
)

// A tape spans hollows of the scalp up to this depth in mm. A section farther
// from one of its points has a hole there.
const hollow = 15

// A spot is a point on a chain: that of the segment which begins at points[i].
type spot struct {
	at       float64 // i plus the share of the segment
	distance float64 // from the chain to the point that was looked for
}

// locate finds the place of a chain nearest to p.
func (c chain) locate(p r3.Vec) spot {
	best := spot{distance: math.Inf(1)}
	n := len(c.points)
	if !c.closed {
		n--
	}
	for i := range n {
		q, t := nearestInSegment(p, c.points[i], c.points[(i+1)%len(c.points)])
		if d := r3.Norm(r3.Sub(p, q)); d < best.distance {
			best = spot{float64(i) + t, d}
		}
	}
	return best
}

// nearestChain returns the piece of a section that is nearest to p.
func nearestChain(chains []chain, p r3.Vec) (nearest chain, at spot) {
	at.distance = math.Inf(1)
	for _, c := range chains {
		if l := c.locate(p); l.distance < at.distance {
			nearest, at = c, l
		}
	}
	return nearest, at
}

// between returns the points of the chain between two places, forwards. On an
// open chain the second must not come before the first.
func (c chain) between(from, to float64) []r3.Vec {
	n := len(c.points)
	if to < from {
		to += float64(n)
	}
	var points []r3.Vec
	for i := int(math.Floor(from)) + 1; float64(i) < to; i++ {
		points = append(points, c.points[i%n])
	}
	return points
}

// reversed runs the other way.
func (c chain) reversed() chain {
	r := chain{slices.Clone(c.points), c.closed}
	slices.Reverse(r.points)
	return r
}

// route returns the points of the chain from one place over a second to a
// third; ok is false where the chain does not lead that way.
func (c chain) route(from, via, to r3.Vec) (points []r3.Vec, ok bool) {
	for _, c := range []chain{c, c.reversed()} {
		f, v, t := c.locate(from), c.locate(via), c.locate(to)
		if max(f.distance, v.distance, t.distance) > hollow {
			return nil, false
		}
		n := float64(len(c.points))
		ahead := func(p spot) float64 { // of from
			d := p.at - f.at
			if d < 0 && c.closed {
				d += n
			}
			return d
		}
		if 0 <= ahead(v) && ahead(v) <= ahead(t) {
			return c.between(f.at, t.at), true
		}
	}
	return nil, false
}

// A gap is where a section has no surface, in hundredths of the angle from its
// first to its last point, seen from the centre of the circle through its three
// points: nearly hundredths of its length.
type gap struct {
	before, after float64
	half          string // between which points it begins
}

func (g gap) String() string {
	return fmt.Sprintf("the scan has a hole between the %s point, from %.0f to %.0f %% of the arc", g.half,
		g.before,
		g.after)
}

// findGap looks at the open ends of the chains between the three points.
func findGap(chains []chain, p plane, from, via, to r3.Vec) gap {
	centre := circumcentre(from, via, to)
	turn := anglesFrom(p, centre, from)
	whole := turn(to)
	var inside []float64 // angles that the surface covers, in hundredths
	for _, c := range chains {
		for _, q := range c.points {
			near := math.Abs(r3.Norm(r3.Sub(q, centre))-r3.Norm(r3.Sub(via, centre))) < 3*hollow
			if a := turn(q); a < whole && near {
				inside = append(inside, 100*a/whole)
			}
		}
	}
	inside = append(inside, 0, 100)
	slices.Sort(inside)
	var g gap
	for i := 1; i < len(inside); i++ {
		if inside[i]-inside[i-1] > g.after-g.before {
			g.before, g.after = inside[i-1], inside[i]
		}
	}
	g.half = "middle and the last"
	if g.before < 100*turn(via)/whole {
		g.half = "first and the middle"
	}
	return g
}

// anglesFrom measures angles about a centre, counterclockwise from a start, in
// [0, 2π).
func anglesFrom(p plane, centre, start r3.Vec) func(r3.Vec) float64 {
	u := r3.Sub(start, centre)
	v := r3.Cross(p.normal, u)
	return func(q r3.Vec) float64 {
		d := r3.Sub(q, centre)
		return geometry.PositiveTurn(math.Atan2(r3.Dot(d, v), r3.Dot(d, u)))
	}
}

// circumcentre returns the centre of the circle through three points.
func circumcentre(a, b, c r3.Vec) r3.Vec {
	u, v := r3.Sub(b, a), r3.Sub(c, a)
	n := r3.Cross(u, v)
	w := r3.Sub(r3.Scale(r3.Norm2(u), v), r3.Scale(r3.Norm2(v), u))
	return r3.Add(a, r3.Scale(1/(2*r3.Norm2(n)), r3.Cross(w, n)))
}

// taut returns the line of a tape that is drawn tight over the points of a
// section from one end to the other: the points that a tape touches. Seen from
// the middle of the area under the section, the points are put in the order of
// their angles, and those in hollows are left out (Graham 1972).
func taut(p plane, from r3.Vec, points []r3.Vec, to r3.Vec) []r3.Vec {
	middle := areaCentre(p, from, points, to)
	turn := anglesFrom(p, middle, from)
	type seen struct {
		position r3.Vec
		angle    float64
	}
	end := turn(to)
	sorted := make([]seen, 0, len(points))
	for _, q := range points {
		if a := turn(q); 0 < a && a < end {
			sorted = append(sorted, seen{q, a})
		}
	}
	slices.SortStableFunc(sorted, func(a, b seen) int { return cmp.Compare(a.angle, b.angle) })

	line := []r3.Vec{from}
	add := func(q r3.Vec) {
		for len(line) > 1 {
			a, b := line[len(line)-2], line[len(line)-1]
			if r3.Dot(p.normal, r3.Cross(r3.Sub(b, a), r3.Sub(q, b))) > 0 {
				break
			}
			line = line[:len(line)-1]
		}
		line = append(line, q)
	}
	for _, s := range sorted {
		add(s.position)
	}
	add(to)
	return line
}

// areaCentre returns the centre of gravity of the area between a section and
// the chord of its ends.
func areaCentre(p plane, from r3.Vec, points []r3.Vec, to r3.Vec) r3.Vec {
	var sum r3.Vec
	total := 0.0
	last := from
	add := func(q r3.Vec) {
		area := r3.Dot(p.normal, r3.Cross(r3.Sub(last, from), r3.Sub(q, from)))
		sum = r3.Add(sum, r3.Scale(area/3, r3.Add(from, r3.Add(last, q))))
		total += area
		last = q
	}
	for _, q := range points {
		add(q)
	}
	add(to)
	return r3.Scale(1/total, sum)
}
