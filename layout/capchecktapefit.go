package layout

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// Of the turns that tapes do not see, singular values below this share of the
// largest tell; an axis is seen where all but this share of it is.
const unseenShare = 1e-6

// fitTapes finds the least turn that explains the tapes by least squares.
func (c *CapCheck) fitTapes(lines []tapeLine, readingError float64) {
	var rotation r3.Vec
	var solve tapeSolver
	for range 20 {
		rest := make([]float64, len(lines))
		for i, t := range lines {
			rest[i] = c.Tapes[i].Off - t.change(rotation)
		}
		solve = newTapeSolver(lines, rotation)
		step := solve.step(rest)
		rotation = r3.Add(rotation, step)
		if r3.Norm(step) < 1e-12 {
			break
		}
	}
	c.Turn = Turn{
		Pitch: solve.angle(0, rotation.X, readingError),
		Roll:  solve.angle(1, rotation.Y, readingError),
		Yaw:   solve.angle(2, rotation.Z, readingError),
	}
	sum := 0.0
	for i, t := range lines {
		rest := c.Tapes[i].Off - t.change(c.Turn.vector())
		c.Tapes[i].Remains = rest
		sum += rest * rest
	}
	c.RMS = math.Sqrt(sum / float64(len(lines)))
	c.Height = c.commonHeight()
	c.warnUnseen()
}

// A tapeSolver inverts the gradients of the tapes as far as they go.
type tapeSolver struct {
	u, v   mat.Dense
	values []float64 // those that count
}

func newTapeSolver(lines []tapeLine, rotation r3.Vec) tapeSolver {
	gradients := mat.NewDense(len(lines), 3, nil)
	for i, t := range lines {
		g := t.gradient(rotation)
		gradients.SetRow(i, []float64{g.X, g.Y, g.Z})
	}
	var svd mat.SVD
	var s tapeSolver
	if !svd.Factorize(gradients, mat.SVDThin) {
		return s
	}
	svd.UTo(&s.u)
	svd.VTo(&s.v)
	s.values = svd.Values(nil)
	for len(s.values) > 0 && s.values[len(s.values)-1] < unseenShare*s.values[0] {
		s.values = s.values[:len(s.values)-1]
	}
	return s
}

// step is the least turn, in radians, that explains the differences best.
func (s tapeSolver) step(rest []float64) r3.Vec {
	var turn [3]float64
	for k, value := range s.values {
		along := 0.0
		for i, r := range rest {
			along += s.u.At(i, k) * r
		}
		for axis := range turn {
			turn[axis] += s.v.At(axis, k) * along / value
		}
	}
	return r3.Vec{X: turn[0], Y: turn[1], Z: turn[2]}
}

// angle returns a component of the turn with the error that a reading's makes.
func (s tapeSolver) angle(axis int, radians, readingError float64) Angle {
	seen, variance := 0.0, 0.0
	for k, value := range s.values {
		share := s.v.At(axis, k)
		seen += share * share
		variance += share * share / (value * value)
	}
	if seen < 1-unseenShare {
		return Angle{}
	}
	const degrees = 180 / math.Pi
	return Angle{Degrees: radians * degrees, Error: math.Sqrt(variance) * readingError * degrees, Known: true}
}

// ringTapes are the short ways up from the landmarks, by their opposites: a turn
// lengthens one as it shortens the other, so that both too long is no turn.
var ringTapes = [...][2]string{{"Nz-Fpz", "Iz-Oz"}, {"LPA-T7", "RPA-T8"}}

// commonHeight is the mean of what remains in opposite tapes that are both there.
func (c *CapCheck) commonHeight() float64 {
	remains := map[string]float64{}
	for _, t := range c.Tapes {
		remains[t.String()] = t.Remains
	}
	sum, n := 0.0, 0.0
	for _, pair := range ringTapes {
		one, ok := remains[pair[0]]
		other, both := remains[pair[1]]
		if ok && both {
			sum, n = sum+one+other, n+2
		}
	}
	if n == 0 {
		return 0
	}
	return sum / n
}

// warnUnseen says which tapes would show what these do not.
func (c *CapCheck) warnUnseen() {
	for _, a := range [...]struct {
		angle Angle
		text  string
	}{
		{c.Turn.Pitch, "forward and backward slide is not seen by these tapes: add Nz-Fpz and Iz-Oz"},
		{c.Turn.Roll, "sideways slide is not seen by these tapes: add LPA-T7 and RPA-T8"},
		{c.Turn.Yaw, "a turn about the vertical is not seen by these tapes: add LPA-Fpz and RPA-Fpz, the shortest way over the skin"},
	} {
		if !a.angle.Known {
			c.Warnings = append(c.Warnings, a.text)
		}
	}
}
