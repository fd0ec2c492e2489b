package contrast

import (
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/topo"
)

// A Reading is a sum of the potentials at some places, each with its weight:
// one site, the mean of a pool, or right minus left.
type Reading struct {
	Places  []r3.Vec
	Weights []float64 // one for each place
}

// RightLess is the reading at the right place less that at the left one.
func RightLess(left, right r3.Vec) Reading {
	return Reading{[]r3.Vec{left, right}, []float64{-1, 1}}
}

// Moved is the reading of the same electrodes elsewhere.
func (r Reading) Moved(moved func(r3.Vec) r3.Vec) Reading {
	places := make([]r3.Vec, len(r.Places))
	for i, p := range r.Places {
		places[i] = moved(p)
	}
	return Reading{places, r.Weights}
}

// Changes are by how much, in µV, a reading would change had the cap sat turned
// by each of some rotation vectors in radians, turn × latency: the field that
// the coefficients give is read at the turned places. Of sources near the scalp
// the field between few electrodes is known only roughly, and so is the change:
// with 64 sites and sources at 0.75 of the radius no more than its size, below
// 32 sites it is indicative only.
func (r Reading) Changes(spline *topo.Spline, c *topo.Coefficients, turns []r3.Vec) *mat.Dense {
	moves := make([]func(r3.Vec) r3.Vec, len(turns))
	for i, t := range turns {
		moves[i] = Turned(t)
	}
	return r.changes(spline, c, moves)
}

// changes are those of any moves, move × latency.
func (r Reading) changes(spline *topo.Spline, c *topo.Coefficients, moves []func(r3.Vec) r3.Vec) *mat.Dense {
	out := r.values(spline, c, append([]func(r3.Vec) r3.Vec{Turned(r3.Vec{})}, moves...))
	rows, columns := out.Dims()
	for i := 1; i < rows; i++ {
		for j, unmoved := range out.RawRowView(0) {
			out.Set(i, j, out.At(i, j)-unmoved)
		}
	}
	return mat.DenseCopyOf(out.Slice(1, rows, 0, columns))
}

// values are the reading at moved places, move × latency.
func (r Reading) values(spline *topo.Spline, c *topo.Coefficients, moves []func(r3.Vec) r3.Vec) *mat.Dense {
	var places []r3.Vec
	for _, m := range moves {
		places = append(places, r.Moved(m).Places...)
	}
	values := spline.Interpolate(places, topo.Potential, c)
	_, columns := values.Dims()
	out := mat.NewDense(len(moves), columns, nil)
	for i := range moves {
		row := out.RawRowView(i)
		for k, w := range r.Weights {
			for j, v := range values.RawRowView(i*len(r.Places) + k) {
				row[j] += w * v
			}
		}
	}
	return out
}
