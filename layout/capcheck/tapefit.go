package capcheck

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// A direction of turning is seen where its singular value is more than
// seenShare of the largest, and an axis where all but unseenShare of it lies in
// directions that are seen.
const seenShare, unseenShare = 1e-2, 1e-6

// fitTapes finds the turn that explains the tapes by least squares, by
// Gauss-Newton steps in the directions that the tapes see on a cap in place. A
// turned cap shows traces of the others, which are no measure of them.
func (c *Check) fitTapes(lines []tapeLine, readingError float64) {
	seen := newTapeView(lines)
	var rotation r3.Vec
	for range 50 {
		rest := mat.NewVecDense(len(lines), nil)
		for i, t := range lines {
			rest.SetVec(i, c.Tapes[i].Off-t.change(rotation))
		}
		step := seen.step(gradients(lines, rotation), rest)
		rotation = r3.Add(rotation, step)
		if r3.Norm(step) < 1e-12 {
			break
		}
	}
	c.Turn = Turn{
		Pitch: seen.angle(0, rotation.X, readingError),
		Roll:  seen.angle(1, rotation.Y, readingError),
		Yaw:   seen.angle(2, rotation.Z, readingError),
	}
	sum := 0.0
	for i, t := range lines {
		rest := c.Tapes[i].Off - t.change(c.Turn.Vector())
		c.Tapes[i].Remains = rest
		sum += rest * rest
	}
	c.RMS = math.Sqrt(sum / float64(len(lines)))
	c.Height = c.commonHeight()
	c.warnUnseen()
}

// gradients has a row for each tape.
func gradients(lines []tapeLine, rotation r3.Vec) *mat.Dense {
	g := mat.NewDense(len(lines), 3, nil)
	for i, t := range lines {
		row := t.gradient(rotation)
		g.SetRow(i, []float64{row.X, row.Y, row.Z})
	}
	return g
}

// A tapeView holds the directions of turning that tapes see, as columns, with
// their singular values.
type tapeView struct {
	directions mat.Matrix
	values     []float64
}

func newTapeView(lines []tapeLine) tapeView {
	var svd mat.SVD
	if !svd.Factorize(gradients(lines, r3.Vec{}), mat.SVDThin) {
		return tapeView{}
	}
	values := svd.Values(nil)
	for values[len(values)-1] < seenShare*values[0] {
		values = values[:len(values)-1]
	}
	var v mat.Dense
	svd.VTo(&v)
	return tapeView{v.Slice(0, 3, 0, len(values)), values}
}

// step is the turn, in radians, that explains the differences best.
func (s tapeView) step(gradients *mat.Dense, rest *mat.VecDense) r3.Vec {
	var reduced mat.Dense
	var along, turn mat.VecDense
	if len(s.values) == 0 {
		return r3.Vec{}
	}
	reduced.Mul(gradients, s.directions)
	if err := along.SolveVec(&reduced, rest); err != nil {
		return r3.Vec{}
	}
	turn.MulVec(s.directions, &along)
	return r3.Vec{X: turn.AtVec(0), Y: turn.AtVec(1), Z: turn.AtVec(2)}
}

// angle returns a component of the turn with the error that a reading's makes.
func (s tapeView) angle(axis int, radians, readingError float64) Angle {
	seen, variance := 0.0, 0.0
	for k, value := range s.values {
		share := s.directions.At(axis, k)
		seen += share * share
		variance += share * share / (value * value)
	}
	if seen < 1-unseenShare {
		return Angle{}
	}
	const degrees = 180 / math.Pi
	return Angle{Degrees: radians * degrees, Error: math.Sqrt(variance) * readingError * degrees, Known: true}
}

// ringTapes are the short ways up from the landmarks, by their opposites: a
// turn lengthens one as it shortens the other, so that both too long is no
// turn.
var ringTapes = [...][2]string{{"Nz-Fpz", "Iz-Oz"}, {"LPA-T7", "RPA-T8"}}

// commonHeight is the mean of what remains in opposite tapes that are both
// there.
func (c *Check) commonHeight() float64 {
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
func (c *Check) warnUnseen() {
	for _, a := range [...]struct {
		angle Angle
		text  string
	}{
		{c.Turn.Pitch, "forward and backward slide is not seen by these tapes: add Nz-Fpz and Iz-Oz"},
		{c.Turn.Roll, "sideways slide is not seen by these tapes: add LPA-T7 and RPA-T8"},
		{c.Turn.Yaw, "a turn about the vertical is not seen by these tapes: add LPA-Fpz and RPA-Fpz, " +
			"the shortest " +
			"way over the skin"},
	} {
		if !a.angle.Known {
			c.Warnings = append(c.Warnings, a.text)
		}
	}
}
