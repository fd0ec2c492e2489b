package capcheck

import (
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
)

// cheapTapes are the readings to ask for: short ways to electrodes that every
// cap has.
var cheapTapes = [...][2]layout.Name{
	{"Nz", "Fpz"}, {"Iz", "Oz"}, {"LPA", "T7"}, {"RPA", "T8"},
	{"LPA", "Fpz"}, {"RPA", "Fpz"}, {"LPA", "Oz"}, {"RPA", "Oz"},
}

// leastTold is the share of the angles' variance that a reading must take away
// to be asked for.
const leastTold = 0.1

// unsurely is how many standard errors an angle must exceed for another reading
// to be asked for, where it is not moved.
const unsurely = 2

// adviseNext names what the tapes do not see, else what they leave in doubt,
// and the tape that would tell most of it.
func (c *Check) adviseNext(head layout.Surface, readingError float64) error {
	for _, doubt := range [...]struct {
		of   [3]bool
		text string
	}{{c.Turn.unseen(), "not seen"}, {c.unsure(), "not sure"}} {
		if doubt.of == [3]bool{} {
			continue
		}
		next, err := c.bestTape(head, doubt.of, readingError)
		if err != nil {
			return err
		}
		if next == (TapeMark{}) {
			continue
		}
		// nothing is left as it is that is in doubt
		c.Advice = slices.DeleteFunc(c.Advice, func(a Advice) bool { return a.Action == Keep })
		c.Advice = append(c.Advice,
			Advice{Action: MeasureNext, Where: turnWords(doubt.of) + " is " + doubt.text,
				Tapes: []TapeMark{next}})
		return nil
	}
	return nil
}

// bestTape is the reading not yet taken that lowers the variance of some angles
// most; empty where none is left that tells of them.
func (c *Check) bestTape(head layout.Surface, angles [3]bool, readingError float64) (best TapeMark, err error) {
	most := 0.0
	for i, sought := range angles {
		if sought {
			most += leastTold * c.Covariance[i][i]
		}
	}
	for _, ends := range cheapTapes {
		if c.measured(ends) {
			continue
		}
		line, err := newTapeLine(head, ends[0], ends[1])
		if err != nil {
			return TapeMark{}, err
		}
		told := c.told(line.gradient(line.to, r3.Vec{}), angles, readingError)
		if told <= most*(1+1e-9) {
			continue
		}
		if best, err = c.tapeMark(head, ends[0], ends[1]); err != nil {
			return TapeMark{}, err
		}
		most = told
	}
	return best, nil
}

func (c *Check) measured(ends [2]layout.Name) bool {
	for _, t := range c.Tapes {
		if t.From == ends[0] && t.To == ends[1] {
			return true
		}
	}
	return false
}

// told is by how much one more reading lowers the variance of some angles
// together, in rad².
func (c *Check) told(gradient r3.Vec, angles [3]bool, readingError float64) float64 {
	sum, whole := 0.0, readingError*readingError
	g := [3]float64{gradient.X, gradient.Y, gradient.Z}
	for i, row := range c.Covariance {
		moved := row[0]*g[0] + row[1]*g[1] + row[2]*g[2]
		whole += g[i] * moved
		if angles[i] {
			sum += moved * moved
		}
	}
	return sum / whole
}

// unseen are the angles that are not known.
func (t Turn) unseen() [3]bool { return [3]bool{!t.Pitch.Known, !t.Roll.Known, !t.Yaw.Known} }

// unsure are the angles that are more than their errors and not moved.
func (c *Check) unsure() (unsure [3]bool) {
	for i, m := range c.turnMoves() {
		moved := slices.ContainsFunc(c.Advice, func(a Advice) bool {
			return a.Action == m.action && (a.Direction == m.positive || a.Direction == m.negative)
		})
		unsure[i] = m.angle.Known && !moved && math.Abs(m.angle.Degrees) > unsurely*m.angle.Error
	}
	return unsure
}

// turnWords says in a technician's words which angles are meant.
func turnWords(angles [3]bool) string {
	var words []string
	for i, text := range [...]string{"a slide forward or backward", "a slide to a side",
		"a turn about the vertical"} {
		if angles[i] {
			words = append(words, text)
		}
	}
	return strings.Join(words, " or ")
}
