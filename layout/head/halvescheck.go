package head

import (
	"fmt"
	"math"
)

// Halves that differ by more than this are warned of, as are halves that add up
// to another length than their whole (common practice, no source).
const unevenHalves = 10 // mm

// sides returns the measures of each side, with the midline that both share.
func (h Head) sides() [2][]measure {
	s := h.complete()
	side := func(name string, ring, ear float64) []measure {
		return []measure{
			{name + " half ring", ring, MinCircumference / 2, MaxCircumference / 2, 0.5},
			{"nasion-inion arc", h.NasionInion, minArc, maxArc, 0.64},
			{name + " half ear arc", ear, minArc / 2, maxArc / 2, 0.31},
		}
	}
	return [2][]measure{side("left", s.LeftRing, s.LeftEar), side("right", s.RightRing, s.RightEar)}
}

// checkHalves checks each side like a head of its own, and that there is one
// that has both.
func (h Head) checkHalves() (warnings []string, err error) {
	for _, side := range h.sides() {
		for _, m := range side {
			if err := m.check(); err != nil {
				return nil, err
			}
		}
		if err := checkProportions(side); err != nil {
			return nil, err
		}
	}
	s := h.complete()
	for _, c := range [...]struct {
		pair, whole       string
		left, right, both float64
	}{
		{"half rings", "circumference", s.LeftRing, s.RightRing, h.Circumference},
		{"half ear arcs", "ear-to-ear arc", s.LeftEar, s.RightEar, h.EarEar},
	} {
		if d := math.Abs(c.left - c.right); d > unevenHalves {
			warnings = append(warnings,
				fmt.Sprintf("the %s differ by %.0f mm (left %.0f, right %.0f mm): measure both "+
					"again to be sure",
					c.pair, d, c.left, c.right))
		}
		if sum := c.left + c.right; math.Abs(sum-c.both) > unevenHalves {
			warnings = append(warnings,
				fmt.Sprintf("the %s add up to %.0f mm, the %s is %.0f mm: measure again, the halves "+
					"are followed",
					c.pair, sum, c.whole, c.both))
		}
	}
	_, err = fitHalves(s, h.NasionInion)
	return warnings, err
}
