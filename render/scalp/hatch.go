package scalp

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/plot/vg"
)

const (
	// hatchGap is about the distance between strokes at the edge of a large
	// map.
	hatchGap = 2 * vg.Length(1)
	// shortestHatch is where a stroke becomes a speck.
	shortestHatch = .5 * vg.Length(1)
)

// Hatch is strokes over what is guessed, as mountains are hachured. It is empty
// where the electrodes know the whole map.
func (r *Reach) Hatch(at Frame) vg.Path {
	var path vg.Path
	const samplesPerPoint = 2
	samples := max(2, int(max(at.Right, at.Front)*samplesPerPoint))
	for _, h := range at.hachures() {
		first := int(h.from * float64(samples))
		place := func(sample float64) r2.Vec { return h.at(sample / float64(samples)) }
		start, before := -1., 0.
		for i := first; i <= samples; i++ {
			beyond := r.guessed(place(float64(i)))
			crossing := float64(i) - beyond/(beyond-before)
			switch {
			case beyond > 0 && start < 0 && i == first:
				start = float64(i)
			case beyond > 0 && start < 0:
				start = crossing
			case beyond <= 0 && start >= 0:
				appendStroke(&path, at.point(place(start)), at.point(place(crossing)))
				start = -1
			}
			before = beyond
		}
		if start >= 0 {
			appendStroke(&path, at.point(place(start)), at.point(place(float64(samples))))
		}
	}
	return path
}

// A hachure is a line, straight on the page, that a stroke may lie on: at gives
// places on the chart from 0 to 1, the map's edge.
type hachure struct {
	at   func(t float64) r2.Vec
	from float64 // where it begins
}

// hachures of a top view run toward the vertex, stand evenly and symmetrically
// around the edge and thin out inward; those of a side view stand upright.
func (f Frame) hachures() []hachure {
	gap := min(max(f.Right/25, .65*hatchGap), hatchGap)
	if f.View.View != Top {
		return f.uprightHachures(gap)
	}
	n := 16 * max(1, int(math.Round(math.Pi*float64((f.Right+f.Front)/gap)/16)))
	list := make([]hachure, n)
	for k := range list {
		sin, cos := math.Sincos(2 * math.Pi * (float64(k) + .5) / float64(n))
		list[k] = hachure{from: innermost(k),
			at: func(t float64) r2.Vec { return r2.Vec{X: t * sin, Y: t * cos} }}
	}
	return list
}

func (f Frame) uprightHachures(gap vg.Length) []hachure {
	n := 2 * max(1, int(math.Round(float64(f.Right/gap))))
	list := make([]hachure, n)
	for k := range list {
		x := (2*float64(k)+1)/float64(n) - 1
		high := math.Sqrt(1 - x*x)
		low := max(f.View.ringBelow(x), -high)
		list[k].at = func(t float64) r2.Vec {
			return f.View.rolled(r2.Vec{X: x, Y: high + t*(low-high)})
		}
	}
	return list
}

// innermost is the radius on the disc at which the k-th stroke begins, so that
// strokes do not crowd towards the vertex.
func innermost(k int) float64 {
	switch {
	case k%2 == 1:
		return .5
	case k%4 == 2:
		return .25
	case k%8 == 4:
		return .125
	}
	return .0625
}

func appendStroke(p *vg.Path, from, to vg.Point) {
	d := to.Sub(from)
	if math.Hypot(float64(d.X), float64(d.Y)) >= float64(shortestHatch) {
		p.Move(from)
		p.Line(to)
	}
}
