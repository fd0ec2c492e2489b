package scan

import (
	"sort"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
)

// A tapeArc is a tape over a scan: straight pieces between the points that it
// touches. Its points hang over hollows as the tape does.
type tapeArc struct {
	points             []r3.Vec
	at                 []float64 // distance of each point from the first
	start, middle, end float64
	bends              func() []float64 // geodesic curvature at each mm of the whole tape
}

func newTapeArc(line []r3.Vec, via r3.Vec, p plane, m *Mesh) tapeArc {
	a := tapeArc{points: line, at: make([]float64, len(line))}
	for i := 1; i < len(line); i++ {
		a.at[i] = a.at[i-1] + r3.Norm(r3.Sub(line[i], line[i-1]))
	}
	a.end = a.at[len(line)-1]
	a.middle = a.nearest(via)
	whole := a
	a.bends = sync.OnceValue(func() []float64 { return whole.smoothBends(p, m) })
	return a
}

// nearest returns the distance along the tape of its point nearest to p.
func (a tapeArc) nearest(p r3.Vec) float64 {
	s := chain{points: a.points}.locate(p)
	i := min(int(s.at), len(a.points)-2)
	return a.at[i] + (s.at-float64(i))*(a.at[i+1]-a.at[i])
}

func (a tapeArc) Length() float64 { return a.end - a.start }

// At goes straight on beyond the ends of the tape.
func (a tapeArc) At(fraction float64) r3.Vec {
	i, t := a.piece(a.start + fraction*(a.end-a.start))
	return r3.Add(r3.Scale(1-t, a.points[i]), r3.Scale(t, a.points[i+1]))
}

// piece returns the piece of the tape at a distance, and the share of it.
func (a tapeArc) piece(distance float64) (i int, t float64) {
	i = min(max(sort.SearchFloat64s(a.at, distance)-1, 0), len(a.at)-2)
	return i, (distance - a.at[i]) / (a.at[i+1] - a.at[i])
}

// Curvature is a smooth estimate; see smoothBends.
func (a tapeArc) Curvature(fraction float64) float64 {
	bends := a.bends()
	d := (a.start + fraction*(a.end-a.start)) / a.at[len(a.at)-1] * float64(len(bends)-1)
	i := min(max(int(d), 0), len(bends)-2)
	t := min(max(d-float64(i), 0), 1)
	return (1-t)*bends[i] + t*bends[i+1]
}

// Parts halves each part again where it is split once more.
func (a tapeArc) Parts() (before, after layout.Arc) {
	piece := func(start, end float64) layout.Arc {
		p := a
		p.start, p.middle, p.end = start, (start+end)/2, end
		return p
	}
	return piece(a.start, a.middle), piece(a.middle, a.end)
}
