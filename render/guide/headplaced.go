package guide

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
)

// knownSite is where ground or reference go when their place is a site of the
// systems, whether or not it is one of the set's.
func (p *plan) knownSite(place string) (at r3.Vec, ok bool) {
	n, err := layout.Parse(place)
	if err != nil {
		return r3.Vec{}, false
	}
	if m := p.byName[n]; m != nil {
		return m.Position, true
	}
	placed, err := layout.Place(p.surface, []layout.Name{n})
	if err != nil { // an earlobe, a mastoid
		return r3.Vec{}, false
	}
	return placed[0].Position, true
}

// placed draws the square of an auxiliary at its site or, where that is an
// electrode's or taken, as near to it as discs and texts allow, with a line to
// the site. Without room the list alone has it.
func (p *page) placed(site r2.Vec, letter string, discs []r2.Vec, radius float64) (at r2.Vec, ok bool) {
	const farthest, turns = 25.0, 24 // mm
	for d := 0.; d <= farthest; d += .5 {
		for k := range turns {
			sin, cos := math.Sincos(2 * math.Pi * float64(k) / turns)
			at = r2.Add(site, r2.Scale(d, r2.Vec{X: cos, Y: sin}))
			if !p.freeSquare(at, discs, radius) {
				continue
			}
			if d > 0 {
				p.stroke(firm, at, p.discEdge(site, at, discs, radius))
			}
			p.square(at, letter)
			return at, true
		}
	}
	return r2.Vec{}, false
}

// freeSquare tells whether an auxiliary's square touches neither disc nor text.
func (p *page) freeSquare(at r2.Vec, discs []r2.Vec, radius float64) bool {
	const gap = .7 // mm
	half := auxHalf + gap
	for _, d := range discs {
		beyond := r2.Vec{X: max(0, math.Abs(d.X-at.X)-half), Y: max(0, math.Abs(d.Y-at.Y)-half)}
		if r2.Norm(beyond) < radius {
			return false
		}
	}
	square := corners(at.X-half, at.Y-half, 2*half, 2*half)
	for _, t := range p.taken {
		if overlap(square, t.corners) {
			return false
		}
	}
	return true
}

// discEdge is where a line to a site ends: at the edge of its disc, or at the
// site itself, which gets a point.
func (p *page) discEdge(site, from r2.Vec, discs []r2.Vec, radius float64) r2.Vec {
	for _, d := range discs {
		if r2.Norm(r2.Sub(d, site)) < radius {
			return r2.Add(d, r2.Scale(radius, r2.Unit(r2.Sub(from, d))))
		}
	}
	p.disc(black, site, 1)
	return site
}
