package unmix

import (
	"context"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Settings of the descent, all of them ours. With a memory of 7 and a least
// eigenvalue of 0.01 it took 1.5 times as long on sessions of the demo, whose
// background is near normal, and with 0.2 three times.
const (
	memorySteps  = 20
	leastEigen   = 0.05
	mostHalvings = 10
	mostTurns    = 20   // changes of a component's sign in a run, after which it stays
	freeTurns    = 3    // of these, after which the density has to be clearly wrong
	clearlyBent  = 0.01 // by which it is
)

// A descent goes down to the largest likelihood of a sample.
type descent struct {
	data   *sample
	here   *point
	signs  []float64
	turns  []int // how often each sign changed
	steps  int
	length float64 // of the latest step, as a share of its direction
	past   []step
}

// A step is a move and what it did to the gradient.
type step struct {
	move, change *mat.Dense
	weight       float64 // 1/⟨move, change⟩
}

// run goes down until the norm of the gradient is within the tolerance, and
// reports whether it is so after so many steps at most.
func (d *descent) run(ctx context.Context, tolerance float64, most int) (reached bool, err error) {
	d.past, d.length, d.turns = nil, 1, make([]int, d.data.rank)
	d.here = d.data.at(d.here.weights, d.signs)
	for range most {
		if err := ctx.Err(); err != nil {
			return false, err
		}
		if d.turn() {
			d.past = nil
			d.here = d.data.at(d.here.weights, d.signs)
		}
		if d.here.norm() <= tolerance {
			return true, nil
		}
		if !d.down() {
			return false, nil
		}
		d.steps++
	}
	return d.here.norm() <= tolerance, nil
}

// turn gives each component the density under which it is stable. One that is
// near normal would turn forever, so that after some turns it keeps what it has
// as long as that is not clearly wrong.
func (d *descent) turn() (turned bool) {
	for i, s := range d.here.stable {
		margin := 0.0
		if d.turns[i] >= freeTurns {
			margin = clearlyBent
		}
		if s*d.signs[i] < -margin && d.turns[i] < mostTurns {
			d.signs[i], turned = -d.signs[i], true
			d.turns[i]++
		}
	}
	return turned
}

// down takes a step, by the preconditioned direction or, where that does not go
// down, by the gradient. It reports whether there is a step down.
func (d *descent) down() bool {
	if d.try(d.direction()) {
		return true
	}
	d.past, d.length = nil, 1
	plain := mat.DenseCopyOf(d.here.gradient)
	plain.Scale(-1, plain)
	return d.try(plain)
}

// try moves along a direction, as far as the likelihood rises.
func (d *descent) try(direction *mat.Dense) bool {
	n := d.data.rank
	length := min(1, 2*d.length) // where a whole step was too long, the next one is, mostly
	for range mostHalvings {
		move := mat.NewDense(n, n, nil)
		move.Scale(length, direction)
		change := mat.DenseCopyOf(move)
		for i := range n {
			change.Set(i, i, change.At(i, i)+1)
		}
		weights := mat.NewDense(n, n, nil)
		weights.Mul(change, d.here.weights)
		next := d.data.at(weights, d.signs)
		if next.loss < d.here.loss || flat(next.loss, d.here.loss) && next.norm() < d.here.norm() {
			d.remember(move, next)
			d.here, d.length = next, length
			return true
		}
		length /= 2
	}
	return false
}

// flat says whether two losses differ by no more than rounding.
func flat(a, b float64) bool { return math.Abs(a-b) <= 1e-12*(1+math.Abs(b)) }

func (d *descent) remember(move *mat.Dense, next *point) {
	change := mat.NewDense(d.data.rank, d.data.rank, nil)
	change.Sub(next.gradient, d.here.gradient)
	along := inner(move, change)
	if !(along > 0) {
		return
	}
	d.past = append(d.past, step{move, change, 1 / along})
	if len(d.past) > memorySteps {
		d.past = d.past[1:]
	}
}

// direction is minus the gradient through the inverse Hessian of limited
// memory, which starts from that of independent components.
func (d *descent) direction() *mat.Dense {
	q := mat.DenseCopyOf(d.here.gradient)
	shares := make([]float64, len(d.past))
	for k := len(d.past) - 1; k >= 0; k-- {
		s := d.past[k]
		shares[k] = s.weight * inner(s.move, q)
		axpy(q, -shares[k], s.change)
	}
	precondition(q, d.here.hessian)
	for k, s := range d.past {
		axpy(q, shares[k]-s.weight*inner(s.change, q), s.move)
	}
	q.Scale(-1, q)
	return q
}

// precondition divides q, in place, by the Hessian of independent components:
// blocks [hᵢⱼ 1; 1 hⱼᵢ], whose eigenvalues are raised to leastEigen.
func precondition(q, hessian *mat.Dense) {
	n, _ := q.Dims()
	for i := range n {
		q.Set(i, i, q.At(i, i)/(1+hessian.At(i, i)))
		for j := range i {
			a, b := hessian.At(i, j), hessian.At(j, i)
			if low := (a + b - math.Hypot(a-b, 2)) / 2; low < leastEigen {
				a, b = a+leastEigen-low, b+leastEigen-low
			}
			u, v, det := q.At(i, j), q.At(j, i), a*b-1
			q.Set(i, j, (b*u-v)/det)
			q.Set(j, i, (a*v-u)/det)
		}
	}
}

func inner(a, b *mat.Dense) float64 {
	sum := 0.0
	for i, x := range a.RawMatrix().Data {
		sum += x * b.RawMatrix().Data[i]
	}
	return sum
}

func axpy(to *mat.Dense, factor float64, x *mat.Dense) {
	data := to.RawMatrix().Data
	for i, v := range x.RawMatrix().Data {
		data[i] += factor * v
	}
}
