package scalp

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/plot/vg"

	"calotte/render/paper"
)

// dotPitch is the distance between dots of the stipple, and dotSize half of a
// dot's diagonal.
const (
	dotPitch = 3 * vg.Length(1)
	dotSize  = .34 * vg.Length(1)
)

// boundary is where a map is a number of errors from zero, and dots over what
// is nearer.
func (p *panel) boundary(at Frame, errors float64, half bool) (line, dots vg.Path) {
	const tolerance = 1e-3
	lines := p.within(p.ratio.Contours([]float64{-errors, errors}, min(2, p.refinement()), tolerance*errors))
	for i := range lines {
		if half {
			lines[i] = clip(lines[i], onRight)
		}
		line = append(line, at.path(lines[i])...)
	}
	row := 0
	for y := -at.Front; y <= at.Front; y += dotPitch * vg.Length(math.Sqrt(3)/2) {
		x := -at.Right + dotPitch/2*vg.Length(row%2)
		for ; x <= at.Right; x += dotPitch {
			on := r2.Vec{X: float64(x / at.Right), Y: float64(y / at.Front)}
			chart := at.View.rolled(on)
			outside := r2.Norm2(on) > 1 || at.View.inside(chart) < 0 || half && on.X < 0
			if !outside && p.reach.drawn(chart) >= 0 && math.Abs(p.ratio.At(chart)) < errors {
				diamond(&dots, at.Center.Add(vg.Point{X: x, Y: y}), dotSize)
			}
		}
		row++
	}
	return line, dots
}

// strokeBoundary draws a pale line in a dark case: unlike any contour.
func strokeBoundary(c vg.Canvas, p vg.Path) {
	paper.Stroke(c, p, paper.Ink, 1.3)
	paper.Stroke(c, p, paper.Pale, .6)
}
