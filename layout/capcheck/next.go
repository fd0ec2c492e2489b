package capcheck

import (
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

// adviseNext names what the tapes do not see, and the one more that would tell
// most.
func (c *Check) adviseNext(head layout.Surface, readingError float64) error {
	unseen := c.Turn.unseen()
	if len(unseen) == 0 {
		return nil
	}
	best, most := TapeMark{}, 0.0
	for _, ends := range cheapTapes {
		if c.measured(ends) {
			continue
		}
		line, err := newTapeLine(head, ends[0], ends[1])
		if err != nil {
			return err
		}
		told := c.told(line.gradient(line.to, r3.Vec{}), readingError)
		if told <= most*(1+1e-9) {
			continue
		}
		if best, err = c.tapeMark(head, ends[0], ends[1]); err != nil {
			return err
		}
		most = told
	}
	if most > 0 {
		c.Advice = append(c.Advice, Advice{Action: MeasureNext, Where: strings.Join(unseen, " or "),
			Tapes: []TapeMark{best}})
	}
	return nil
}

func (c *Check) measured(ends [2]layout.Name) bool {
	for _, t := range c.Tapes {
		if t.From == ends[0] && t.To == ends[1] {
			return true
		}
	}
	return false
}

// told is by how much one more reading lowers the variance of the three angles
// together, in rad².
func (c *Check) told(gradient r3.Vec, readingError float64) float64 {
	row := func(i int) r3.Vec { return r3.Vec{X: c.Covariance[i][0], Y: c.Covariance[i][1], Z: c.Covariance[i][2]} }
	moved := r3.Vec{X: r3.Dot(row(0), gradient), Y: r3.Dot(row(1), gradient), Z: r3.Dot(row(2), gradient)}
	return r3.Norm2(moved) / (r3.Dot(gradient, moved) + readingError*readingError)
}

// unseen says in a technician's words which angles are not known.
func (t Turn) unseen() []string {
	var words []string
	for _, a := range [...]struct {
		angle Angle
		text  string
	}{
		{t.Pitch, "a slide forward or backward"},
		{t.Roll, "a slide to a side"},
		{t.Yaw, "a turn about the vertical"},
	} {
		if !a.angle.Known {
			words = append(words, a.text)
		}
	}
	return words
}
