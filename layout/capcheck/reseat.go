package capcheck

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"calotte/layout"
)

// usualLimit stands in where the laboratory has no limit, in mm (common
// practice, no source).
const usualLimit = 10

// limit is what the advice goes by.
func (c *Check) limit() float64 {
	if c.Limit == 0 {
		return usualLimit
	}
	return c.Limit
}

// fewShare: one electrode in so many may be off without a doubt about the cap.
const fewShare = 4

// adviseUnexplained never leaves a cap as it is that has a distance beyond the
// limit. A few electrodes are seated again; of many, tapes decide.
func (c *Check) adviseUnexplained(head layout.Surface) error {
	off := c.sitesOff(func(s Site) float64 { return s.Along })
	tapes := slices.ContainsFunc(c.Tapes, func(t Reading) bool { return math.Abs(t.Off) > c.limit() })
	switch {
	case tapes || len(off) > len(c.Sites)/fewShare:
		return c.adviseTapes(head, ringEnds)
	case len(off) > 0:
		c.reseat(off)
		return nil
	}
	if c.Turn.unseen() == [3]bool{} {
		c.Advice = []Advice{{Action: Keep, Where: "cap"}}
	}
	return nil
}

// adviseReseat is for electrodes that stay beyond the limit when the cap is
// moved.
func (c *Check) adviseReseat() {
	c.reseat(c.sitesOff(func(s Site) float64 { return s.Remains }))
}

// sitesOff are the sites beyond the limit by some distance, the farthest first.
func (c *Check) sitesOff(distance func(Site) float64) []Site {
	off := slices.DeleteFunc(slices.Clone(c.Sites), func(s Site) bool { return !(distance(s) > c.limit()) })
	slices.SortStableFunc(off, func(a, b Site) int { return cmp.Compare(distance(b), distance(a)) })
	return off
}

// reseat says how far off they are once the cap is moved, or, where it is not,
// now.
func (c *Check) reseat(off []Site) {
	if len(off) == 0 {
		return
	}
	a := Advice{Action: Reseat, Moved: c.isMoved()}
	names := make([]string, len(off))
	for i, s := range off {
		names[i] = s.Name
		if a.Moved || c.exchanged(s.Name) {
			a.Amount = max(a.Amount, s.Remains)
		} else {
			a.Amount = max(a.Amount, s.Along)
		}
	}
	a.Where = strings.Join(names, ", ")
	c.Advice = append(c.Advice, a)
}

func (c *Check) exchanged(name string) bool {
	return slices.ContainsFunc(c.Exchanges,
		func(e Exchange) bool { return e.Sites[0] == name || e.Sites[1] == name })
}

// isMoved reports whether the advice so far moves the whole cap.
func (c *Check) isMoved() bool {
	return slices.ContainsFunc(c.Advice, func(a Advice) bool {
		return slices.Contains([]Action{SlideCap, TurnCap, LowerCap, LiftCap}, a.Action)
	})
}

func (a Advice) reseat() string {
	upTo, moved := "", ""
	if strings.Contains(a.Where, ",") {
		upTo = "up to "
	}
	if a.Moved {
		upTo, moved = "still "+upTo, " once the cap is moved"
	}
	return fmt.Sprintf("seat again %s: %s%.0f mm off%s", a.Where, upTo, a.Amount, moved)
}
