package capcheck

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout/internal/geometry"
)

// lifted is where a point of the scalp goes when the whole cap is drawn up by a
// height in mm: towards the vertex, by the height's part along the scalp, which
// is all of it at the ring and none at the vertex.
func lifted(p r3.Vec, height float64) r3.Vec {
	out := r3.Unit(p)
	up := r3.Cross(out, r3.Vec{Z: 1})
	return geometry.Turned(p, r3.Scale(height/r3.Norm(p), up))
}

// lift is the way that lifted goes for each mm.
func lift(p r3.Vec) r3.Vec {
	out := r3.Unit(p)
	return r3.Sub(r3.Vec{Z: 1}, r3.Scale(out.Z, out))
}

// leastLiftSeen is the share of a lift's way that must be no turn's for it to
// be told from one. Sites all in front rise by a turn as by a lift.
const leastLiftSeen = 0.25

// surelyLifted is how many standard errors a height must exceed to be fitted.
const surelyLifted = 2

// fitHeight tells a lift of the whole cap from what the turn leaves, by least
// squares, as far as the lift is no turn itself. Where it is worth asking for,
// turn and lift are fitted in rounds.
func (f *capFit) fitHeight() error {
	for range 20 {
		step, uncertain := f.heightStep()
		if total := math.Abs(f.height + step); total < max(smallestHeight, surelyLifted*uncertain) {
			f.height = 0
			return f.fitTurn()
		}
		f.height, f.heightError = f.height+step, uncertain
		if err := f.fitTurn(); err != nil {
			return err
		}
		if math.Abs(step) < 1e-9 {
			break
		}
	}
	return nil
}

// heightStep is by how much more the cap is lifted than the fit says, with its
// standard error; zero where it is not seen.
func (f *capFit) heightStep() (step, uncertain float64) {
	points := make([]r3.Vec, len(f.names))
	ways := make([]r3.Vec, len(f.names))
	var moment r3.Vec
	whole := 0.0
	for i := range f.names {
		points[i] = f.place(i)
		ways[i] = geometry.Turned(lift(f.swapped(i)), f.rotation)
		moment = r3.Add(moment, r3.Cross(points[i], ways[i]))
		whole += r3.Norm2(ways[i])
	}
	covariance, ok := geometry.TurnCovariance(points)
	if !ok {
		return 0, 0
	}
	var turn mat.VecDense
	turn.MulVec(covariance, mat.NewVecDense(3, []float64{moment.X, moment.Y, moment.Z}))
	rotation := r3.Vec{X: turn.AtVec(0), Y: turn.AtVec(1), Z: turn.AtVec(2)}
	own, explained, sum := 0.0, 0.0, 0.0
	for i, p := range points {
		way := r3.Sub(ways[i], r3.Cross(rotation, p))
		rest := scalpVector(p, f.measured[i])
		own += r3.Norm2(way)
		explained += r3.Dot(way, rest)
		sum += r3.Norm2(rest)
	}
	if !(own > leastLiftSeen*whole) {
		return 0, 0
	}
	step = explained / own
	sum = max(0, sum-step*explained)
	return step, math.Sqrt(sum / float64(2*len(points)-4) / own)
}
