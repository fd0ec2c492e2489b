package guide

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"calotte/layout"
)

// A flatLine is an arc of the head laid on paper: a line in the plane with the
// arc's length and, at every point, the curvature that the arc has within the
// scalp. A paper edge of this shape lies on the arc without stretch. It starts
// at the origin along x; y is to the left as seen from outside the head. Before
// its start and after its end it runs straight.
type flatLine struct {
	step, length float64 // mm
	at           []r2.Vec
	heading      []float64 // radians from x
}

// straightLine is the arc of a tape, which does not turn within the scalp.
func straightLine(length float64) flatLine {
	return flatLine{step: length, length: length, at: []r2.Vec{{}, {X: length}}, heading: make([]float64, 2)}
}

// unroll lays an arc on paper.
func unroll(arc layout.Arc) (flatLine, error) {
	const step = .5 // mm; between points the line departs by κ·step²/8 < 1 µm
	points, err := layout.Unroll(arc, step)
	if err != nil {
		return flatLine{}, err
	}
	last := len(points) - 1
	l := flatLine{step: arc.Length() / float64(last), length: arc.Length(), heading: make([]float64, last+1)}
	for _, p := range points {
		l.at = append(l.at, r2.Vec{X: p.X, Y: p.Y})
	}
	chord := 0.
	for i := range last {
		d := r2.Sub(l.at[i+1], l.at[i])
		turn := math.Remainder(math.Atan2(d.Y, d.X)-chord, 2*math.Pi)
		if i > 0 {
			l.heading[i] = chord + turn/2
		}
		chord += turn
		l.heading[i+1] = chord + turn/2 // for the end; else the next step corrects it
	}
	return l, nil
}

// point and direction at a distance from the start, in mm.
func (l flatLine) point(s float64) (at r2.Vec, heading float64) {
	last := len(l.at) - 1
	straight := func(i int, rest float64) (r2.Vec, float64) {
		sin, cos := math.Sincos(l.heading[i])
		return r2.Add(l.at[i], r2.Scale(rest, r2.Vec{X: cos, Y: sin})), l.heading[i]
	}
	switch {
	case s <= 0:
		return straight(0, s)
	case s >= l.length:
		return straight(last, s-l.length)
	}
	i := min(int(s/l.step), last-1)
	t := s/l.step - float64(i)
	return r2.Add(r2.Scale(1-t, l.at[i]), r2.Scale(t, l.at[i+1])), (1-t)*l.heading[i] + t*l.heading[i+1]
}
