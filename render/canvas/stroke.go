package canvas

import (
	"math"
	"slices"
)

// flatness is how far, in pixels, a chord may depart from its curve.
const flatness = 0.05

func (w *window) fill(o outline) {
	for _, part := range o.polylines(flatness) {
		w.path(w.grid(part.points))
	}
	w.Fill()
}

// stroke draws the parts of a dashed line one by one, since gg carries a wrong
// offset from part to part.
func (w *window) stroke(o outline, p pen) {
	w.SetColor(p.ink)
	w.SetLineWidth(max(1.0/grains, grained(p.width)))
	w.SetDash(evenly(p.dash)...)
	w.SetDashOffset(p.offset)
	dashed := len(p.dash) > 0
	for _, part := range o.polylines(flatness) {
		w.path(sparse(w.grid(ends(part, dashed))))
		if dashed {
			w.Stroke()
		}
	}
	w.Stroke()
}

func (w *window) path(points []point) {
	w.NewSubPath()
	for _, p := range points {
		w.LineTo(p.x, p.y)
	}
}

// grains is the parts of a pixel that gg counts in. It cuts off what is
// finer.
const grains = 64

// grained is a coordinate rounded to whole grains, kept where 32 bits hold
// gg's sums.
func grained(x float64) float64 {
	const far = 1 << 16
	return math.Round(grains*max(-far, min(far, x))) / grains
}

// grid carries points of the page to the window, in whole grains.
func (w *window) grid(points []point) []point {
	x, y := float64(w.r.Min.X), float64(w.r.Min.Y)
	made := make([]point, len(points))
	for i, p := range points {
		made[i] = point{grained(p.x - x), grained(p.y - y)}
	}
	return made
}

// evenly repeats a pattern of odd length, as SVG and PDF do.
func evenly(dash []float64) []float64 {
	if len(dash)%2 == 1 {
		return slices.Concat(dash, dash)
	}
	return dash
}

// ends gives a closed line its two ends, which gg does not join. They meet in
// the middle of the longest piece; dashes, though, are counted from the first
// point.
func ends(l polyline, dashed bool) []point {
	points := l.points
	switch {
	case !l.closed:
		return points
	case dashed:
		return slices.Concat(points, points[:1])
	}
	after, longest, middle := 0, -1.0, point{}
	for i, q := range points {
		p := points[(i+len(points)-1)%len(points)]
		if length := math.Hypot(q.x-p.x, q.y-p.y); length > longest {
			after, longest, middle = i, length, point{(p.x + q.x) / 2, (p.y + q.y) / 2}
		}
	}
	return slices.Concat([]point{middle}, points[after:], points[:after], []point{middle})
}

// sparse leaves out, in place, points of a line that lie so near to the one
// before that gg would leave them out without looking how far it has come,
// and with them whole curves of short pieces. Both ends stay.
func sparse(points []point) []point {
	last := points[len(points)-1]
	kept := points[:1]
	for _, p := range points[1:] {
		if apart(kept[len(kept)-1], p) {
			kept = append(kept, p)
		}
	}
	for len(kept) > 1 && !apart(kept[len(kept)-1], last) {
		kept = kept[:len(kept)-1]
	}
	return append(kept, last)
}

// apart tells whether gg's strokes tell two points from each other.
func apart(p, q point) bool {
	return math.Abs(p.x-q.x)+math.Abs(p.y-q.y) > 8.0/grains
}
