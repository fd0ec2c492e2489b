package layout

import (
	"sort"

	"gonum.org/v1/gonum/spatial/r3"
)

// A tapeArc is a tape over a scan: straight pieces between the points that it
// touches. Its points hang over hollows as the tape does.
type tapeArc struct {
	points             []r3.Vec
	at                 []float64 // distance of each point from the first
	start, middle, end float64
}

func newTapeArc(points []r3.Vec, via r3.Vec) tapeArc {
	a := tapeArc{points: points, at: make([]float64, len(points))}
	for i := 1; i < len(points); i++ {
		a.at[i] = a.at[i-1] + r3.Norm(r3.Sub(points[i], points[i-1]))
	}
	a.end = a.at[len(points)-1]
	a.middle = a.nearest(via)
	return a
}

// nearest returns the distance along the tape of its point nearest to p.
func (a tapeArc) nearest(p r3.Vec) float64 {
	c := chain{points: make([]cutPoint, len(a.points))}
	for i, q := range a.points {
		c.points[i].position = q
	}
	s := c.locate(p)
	i := min(int(s.at), len(a.points)-2)
	return a.at[i] + (s.at-float64(i))*(a.at[i+1]-a.at[i])
}

func (a tapeArc) Length() float64 { return a.end - a.start }

// At goes straight on beyond the ends of the tape.
func (a tapeArc) At(fraction float64) r3.Vec {
	d := a.start + fraction*(a.end-a.start)
	i := sort.SearchFloat64s(a.at, d) - 1
	i = min(max(i, 0), len(a.at)-2)
	t := (d - a.at[i]) / (a.at[i+1] - a.at[i])
	return r3.Add(r3.Scale(1-t, a.points[i]), r3.Scale(t, a.points[i+1]))
}

// Parts halves each part again where it is split once more.
func (a tapeArc) Parts() (before, after Arc) {
	piece := func(start, end float64) Arc {
		p := a
		p.start, p.middle, p.end = start, (start+end)/2, end
		return p
	}
	return piece(a.start, a.middle), piece(a.middle, a.end)
}
