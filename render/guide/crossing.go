package guide

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
)

// A crossing is the distance along the scalp to a mark that is there already.
type crossing struct {
	from     layout.Name
	distance float64 // mm
}

const (
	crossingMarks = 3   // distances that place a site: two, and one that shows a slip
	nearMarks     = 10  // marks among which they are chosen
	farthest      = 120 // mm: a tape held freely wanders beyond
)

// cross finds crossing distances for all sites that lie on no straight tape. A
// site and its mirror image are measured from mirrored marks where both have
// them.
func (p *plan) cross() error {
	for _, m := range p.aside() {
		var chosen []layout.Name
		if twin := p.byName[m.name.Mirror()]; twin != nil && twin.crossings != nil {
			for _, c := range twin.crossings {
				if p.byName[c.from.Mirror()] != nil {
					chosen = append(chosen, c.from.Mirror())
				}
			}
		}
		if len(chosen) < crossingMarks {
			chosen = p.choose(m)
		}
		for _, n := range chosen {
			d, err := p.surface.Distance(p.byName[n].Position, m.Position)
			if err != nil {
				return fmt.Errorf("distance from %s to %s: %w", n, m.name, err)
			}
			m.crossings = append(m.crossings, crossing{n, d})
		}
	}
	return nil
}

// choose takes the marks from which three distances place a site best.
func (p *plan) choose(m *mark) []layout.Name {
	near := p.candidates(m)
	best, least := near[:min(crossingMarks, len(near))], math.Inf(1)
	for i := range near {
		for j := range i {
			for k := range j {
				three := []*mark{near[k], near[j], near[i]}
				if u := uncertainty(m.Position, three); u < least*(1-1e-3) {
					best, least = three, u
				}
			}
		}
	}
	var names []layout.Name
	for _, c := range best {
		names = append(names, c.name)
	}
	return names
}

// candidates are the nearest marks on straight arcs and landmarks, on the
// site's side of the head or on the midline.
func (p *plan) candidates(m *mark) []*mark {
	var near []*mark
	for _, c := range p.marks {
		same := c.name.Side() == m.name.Side() || c.name.Side() == layout.Midline
		if same && slices.Contains(straightArcs, c.Arc) && c.name != "T9" && c.name != "T10" &&
			apart(c, m) < farthest {
			near = append(near, c)
		}
	}
	slices.SortStableFunc(near, func(a, b *mark) int {
		// whole mm: equal sides stay in order
		return cmp.Compare(math.Round(apart(a, m)), math.Round(apart(b, m)))
	})
	return near[:min(nearMarks, len(near))]
}

func apart(a, b *mark) float64 { return r3.Norm(r3.Sub(a.Position, b.Position)) }

// uncertainty is the mean squared error, in mm², of a site found by crossing
// distances that are 1 mm off at hand and more with their length: the trace of
// the inverse of Σ uuᵀ/σ², u the directions to the marks.
func uncertainty(at r3.Vec, marks []*mark) float64 {
	up := r3.Unit(at)
	east := r3.Unit(r3.Cross(r3.Vec{Z: 1}, up))
	north := r3.Cross(up, east)
	information := mat.NewSymDense(2, nil)
	for _, m := range marks {
		to := r3.Sub(m.Position, at)
		x, y := r3.Dot(to, east), r3.Dot(to, north)
		d2 := x*x + y*y
		weight := 1 / (1 + d2/(60*60)) / d2
		information.SetSym(0, 0, information.At(0, 0)+weight*x*x)
		information.SetSym(0, 1, information.At(0, 1)+weight*x*y)
		information.SetSym(1, 1, information.At(1, 1)+weight*y*y)
	}
	a, b, c := information.At(0, 0), information.At(0, 1), information.At(1, 1)
	return (a + c) / (a*c - b*b)
}
