package capcheck

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"calotte/layout"
)

// smallestMove is the least move in mm worth asking for: a hand and a tape do
// no better (common practice, no source). smallestHeight is the same for a
// cap's height, which adds up readings, or the small errors of many sites.
const smallestMove, smallestHeight = 2.0, 3.0

// A cap is moved where its turn as a whole is no error: beyond some 97 % of χ²
// with as many degrees of freedom as angles are seen. Then the surest angle is
// undone, and each that is more than sureAngle of its errors. A move that is
// too large by more than half of it takes the cap farther off, so that half of
// it stays sureHalf errors below what was measured. With the guide's readings,
// sure to 2 mm, of caps that are off by 5 mm about each axis, 0.6 % of the
// moves make it worse; with the four of the ring 1.1 % (the test of
// calibration).
const sureAngle, sureHalf, sureHeight = 3.5, 3, 4

var sureTurn = [...]float64{1: 4.71, 2: 6.8, 3: 8.5}

// ringEnds are the tapes that decide where the points are too uncertain to.
var ringEnds = [][2]layout.Name{{"Nz", "Fpz"}, {"Iz", "Oz"}, {"LPA", "T7"}, {"RPA", "T8"}}

// adviseTapes adds the readings that show how the cap sits.
func (c *Check) adviseTapes(head layout.Surface, ends [][2]layout.Name) error {
	a := Advice{Action: CheckByTape, Where: "cap"}
	for _, e := range ends {
		mark, err := c.tapeMark(head, e[0], e[1])
		if err != nil {
			return err
		}
		a.Tapes = append(a.Tapes, mark)
	}
	c.Advice = append(c.Advice, a)
	return nil
}

// A move undoes one angle of the turn.
type move struct {
	action   Action
	where    string
	angle    Angle
	edge     layout.Name      // whose radius turns degrees into mm
	positive Direction        // that undoes a positive angle
	negative Direction        // that undoes a negative one
	check    [][2]layout.Name // the tapes that show it
}

func (c *Check) turnMoves() []move {
	return []move{
		{SlideCap, "cap", c.Turn.Pitch, "Cz", Forward, Backward, ringEnds[:2]},
		{SlideCap, "cap", c.Turn.Roll, "Cz", ToLeft, ToRight, ringEnds[2:]},
		{TurnCap, "front edge", c.Turn.Yaw, "Fpz", ToRight, ToLeft,
			[][2]layout.Name{{"LPA", "Fpz"}, {"RPA", "Fpz"}}},
	}
}

// adviseHeight comes before the moves: pulling the cap down changes them.
func (c *Check) adviseHeight() {
	h := math.Abs(c.Height)
	if h < max(smallestHeight, sureHeight*c.heightError) {
		return
	}
	action := LowerCap
	if c.Height < 0 {
		action = LiftCap
	}
	c.Advice = append(c.Advice, Advice{Action: action, Amount: h, Error: c.heightError, Where: "cap"})
}

// adviseMoves undoes what is sure of the turn.
func (c *Check) adviseMoves(head layout.Surface) error {
	radius := map[layout.Name]float64{}
	for _, e := range c.Edges {
		radius[e.Site] = e.Radius
	}
	moves := c.turnMoves()
	turned, surest := c.sureTurn(moves)
	if !turned {
		return nil
	}
	var ends [][2]layout.Name
	for i, m := range moves {
		scale := radius[m.edge] * math.Pi / 180
		amount, uncertain := math.Abs(m.angle.Degrees)*scale, m.angle.Error*scale
		if !m.angle.Known || amount < smallestMove || i != surest && amount < sureAngle*uncertain {
			continue
		}
		sure := min(amount, max(smallestMove, 2*(amount-sureHalf*uncertain)))
		direction := m.positive
		if m.angle.Degrees < 0 {
			direction = m.negative
		}
		c.Advice = append(c.Advice,
			Advice{Action: m.action, Amount: sure, Measured: amount, Error: uncertain, Where: m.where,
				Direction: direction})
		ends = append(ends, m.check...)
	}
	if len(ends) == 0 {
		return nil
	}
	return c.adviseTapes(head, ends)
}

// sureTurn tells whether the angles that are seen are together more than their
// errors, and which of them is so by most.
func (c *Check) sureTurn(moves []move) (sure bool, surest int) {
	turn := c.Turn.Vector()
	all := [3]float64{turn.X, turn.Y, turn.Z}
	var axes []int
	most := -1.0
	for i, m := range moves {
		if !m.angle.Known {
			continue
		}
		axes = append(axes, i)
		if ratio := math.Abs(m.angle.Degrees) / m.angle.Error; ratio > most {
			most, surest = ratio, i
		}
	}
	if len(axes) == 0 {
		return false, 0
	}
	covariance := mat.NewSymDense(len(axes), nil)
	off := mat.NewVecDense(len(axes), nil)
	for i, a := range axes {
		off.SetVec(i, all[a])
		for j := i; j < len(axes); j++ {
			covariance.SetSym(i, j, c.Covariance[a][axes[j]])
		}
	}
	var factor mat.Cholesky
	var solved mat.VecDense
	if !factor.Factorize(covariance) {
		return mat.Norm(off, 2) > 0, surest // measured without any error
	}
	if err := factor.SolveVecTo(&solved, off); err != nil {
		return true, surest
	}
	return mat.Dot(off, &solved) > sureTurn[len(axes)], surest
}

// tapeMark is the reading that was taken, else the one that turn and height
// give.
func (c *Check) tapeMark(head layout.Surface, from, to layout.Name) (TapeMark, error) {
	line, err := newTapeLine(head, from, to)
	if err != nil {
		return TapeMark{}, err
	}
	mark := TapeMark{From: from, To: to, Should: line.should,
		Now: line.should + line.moved(lifted(line.to, c.Height), c.Turn.Vector())}
	for _, t := range c.Tapes {
		if t.From == from && t.To == to {
			mark.Now = t.Distance
		}
	}
	return mark, nil
}
