package render

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot/vg"
)

// A reach is the part of a map that its electrodes support: up to the set's
// spacing from the nearest one. Beyond, the map is extrapolated and hatched.
type reach struct {
	// spacing is the median over the electrodes of the angle to the nearest other
	// one, in radians.
	spacing float64
	// millimetres is the same along a sphere of the electrodes' mean distance from
	// the centre.
	millimetres float64
	// short is, on the coarse grid, the angle to the nearest electrode less the
	// spacing.
	short *Field
}

// newReach measures the marks that hold data of their own. It returns nil when
// there are fewer than two: no spacing, nothing to say.
func newReach(g grid, marks []Mark) *reach {
	var electrodes []r3.Vec
	var radius float64
	for _, m := range marks {
		if m.Kind == Measured {
			electrodes = append(electrodes, r3.Unit(m.Site.Position))
			radius += r3.Norm(m.Site.Position)
		}
	}
	if len(electrodes) < 2 {
		return nil
	}
	nearest := make([]float64, len(electrodes))
	for i, e := range electrodes {
		nearest[i] = angleToNearest(e, electrodes, i)
	}
	sort.Float64s(nearest)
	spacing := (nearest[(len(nearest)-1)/2] + nearest[len(nearest)/2]) / 2
	short := make([]float64, len(g.directions))
	for i, d := range g.directions {
		short[i] = angleToNearest(d, electrodes, -1) - spacing
	}
	return &reach{
		spacing:     spacing,
		millimetres: spacing * radius / float64(len(electrodes)),
		short:       g.field(short),
	}
}

func angleToNearest(d r3.Vec, among []r3.Vec, except int) float64 {
	closest := -1.
	for i, e := range among {
		if i != except {
			closest = max(closest, r3.Dot(d, e))
		}
	}
	return math.Acos(min(closest, 1))
}

const (
	// hatchGap is the distance between the lines of the hatching.
	hatchGap = 2.2 * vg.Length(1)
	// shortestHatch, across the page, is where a line becomes a speck.
	shortestHatch = .6 * vg.Length(1)
)

// hatch is the parts beyond reach of parallel lines that rise to the right,
// inside the map's edge. It is empty when the electrodes support all of it.
func (r *reach) hatch(at frame) vg.Path {
	var path vg.Path
	if r == nil {
		return path
	}
	const samplesPerPoint = 2
	extent := at.right + at.front
	lines := int(extent / (hatchGap * math.Sqrt2))
	for k := -lines; k <= lines; k++ {
		// The line y = x + offset on the page, walked from left to right.
		offset := vg.Length(k) * hatchGap * math.Sqrt2
		steps := int(2 * at.right * samplesPerPoint)
		var start, previous r2.Vec
		var before float64
		drawing := false
		for i := range steps + 1 {
			x := at.right * vg.Length(2*float64(i)/float64(steps)-1)
			p := r2.Vec{X: float64(x / at.right), Y: float64((x + offset) / at.front)}
			beyond := r.beyond(p)
			switch {
			case beyond > 0 && !drawing:
				start, drawing = p, true
				if i > 0 {
					start = lerp(previous, p, before/(before-beyond))
				}
			case beyond <= 0 && drawing:
				drawing = false
				from, to := at.point(start), at.point(lerp(previous, p, before/(before-beyond)))
				if to.X-from.X > shortestHatch {
					path.Move(from)
					path.Line(to)
				}
			}
			previous, before = p, beyond
		}
	}
	return path
}

// beyond is positive where the map is drawn but not supported: the smaller of
// the distances, in radians, to the edge and to the nearest supported point.
func (r *reach) beyond(p r2.Vec) float64 {
	inward := (1 - r2.Norm(p)) * edgeColatitude
	if inward <= 0 {
		return inward
	}
	return min(inward, r.short.linear(p))
}

func lerp(p, q r2.Vec, fraction float64) r2.Vec {
	return r2.Add(p, r2.Scale(fraction, r2.Sub(q, p)))
}

// linear interpolates between the four nodes around a point, for fields with
// creases, which a cubic would overshoot.
func (f *Field) linear(p r2.Vec) float64 {
	x, y := (p.X-coarseOrigin)/coarseStep, (p.Y-coarseOrigin)/coarseStep
	i := min(max(int(x), 0), coarseSide-2)
	j := min(max(int(y), 0), coarseSide-2)
	fx, fy := x-float64(i), y-float64(j)
	v := f.values[j*coarseSide+i:]
	w := v[coarseSide:]
	return (1-fy)*((1-fx)*v[0]+fx*v[1]) + fy*((1-fx)*w[0]+fx*w[1])
}
