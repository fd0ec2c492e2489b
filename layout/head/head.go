package head

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"calotte/layout/internal/decimal"
	"calotte/layout/internal/geometry"
)

// A Head is what a tape measures on one wearer, in mm.
//
// The circumference runs along the ring: through the points at 10 % of the
// nasion-inion arc above nasion and inion, and 10 % of the ear-to-ear arc above
// the preauricular points. The two arcs run over the vertex. Both are zero when
// only the circumference was measured; the head is then a sphere.
//
// Where the halves of ring or ear-to-ear arc were measured too, each is divided
// by itself, and the whole may be zero: it is then their sum.
type Head struct {
	Wearer        string // a code, not a name; may be empty
	Circumference float64
	NasionInion   float64
	EarEar        float64
	Halves        Halves
}

// Default is the sphere of 560 mm that stands in when nothing was measured.
func Default() Head { return Head{Circumference: 560} }

// Radius returns the circumference divided by 2π, in mm.
func (h Head) Radius() float64 { return h.summed().Circumference / (2 * math.Pi) }

// Spherical reports whether only the circumference was measured.
func (h Head) Spherical() bool {
	return h.NasionInion == 0 && h.EarEar == 0 && h.Halves == Halves{}
}

// Model returns the sphere or ellipsoid on which the measured arcs have their
// lengths: with semi-axes a, b, c to the right, front and top, the perimeter of
// the ellipse (a, b) is the circumference, half that of (b, c) is 0.8 of the
// nasion-inion arc and half that of (a, c) is 0.8 of the ear-to-ear arc. It
// refuses measures that [Head.Check] refuses. The sides of the model are alike;
// for halves that were measured apart, see [Head.Surface].
func (h Head) Model() (Ellipsoid, error) {
	if _, err := h.Check(); err != nil {
		return Ellipsoid{}, err
	}
	if h.Spherical() {
		return Sphere(h.Radius()), nil
	}
	h = h.summed()
	return fitEllipsoid(h.Circumference/4, 0.4*h.NasionInion, 0.4*h.EarEar)
}

// fitEllipsoid solves for the semi-axes from the quarter perimeters of the
// ellipses (a, b), (b, c) and (a, c). The quarter perimeter of a near-circle is
// π/4 times the sum of its semi-axes. Correcting the axes as if that were exact
// shrinks the error severalfold a step for any head that Check lets pass.
func fitEllipsoid(ab, bc, ac float64) (Ellipsoid, error) {
	var a, b, c float64
	ra, rb, rc := ab, bc, ac // what is missing of the three quarters
	for range 200 {
		a += (ra + rc - rb) * 2 / math.Pi
		b += (ra + rb - rc) * 2 / math.Pi
		c += (rb + rc - ra) * 2 / math.Pi
		if !(min(a, b, c) > 0) {
			break
		}
		ra = ab - geometry.QuarterPerimeter(a, b)
		rb = bc - geometry.QuarterPerimeter(b, c)
		rc = ac - geometry.QuarterPerimeter(a, c)
		if max(math.Abs(ra), math.Abs(rb), math.Abs(rc)) <= 1e-14*ab {
			return Ellipsoid{Right: a, Front: b, Up: c}, nil
		}
	}
	return Ellipsoid{}, fmt.Errorf("no ellipsoid has quarter perimeters %.1f, %.1f and %.1f mm: measure again", ab,
		bc,
		ac)
}

// Limits in mm that any head keeps to, from newborn to the largest adult
// (common practice, no source).
const (
	MinCircumference, MaxCircumference = 300, 700
	minArc, maxArc                     = 180, 480 // from nasion to inion, from ear to ear
)

// A measure is one tape measure with its limits.
type measure struct {
	name     string
	value    float64
	min, max float64
	share    float64 // of the circumference on an average head
}

const circumferenceName = "circumference"

func (h Head) measures() []measure {
	all := []measure{
		{circumferenceName, h.Circumference, MinCircumference, MaxCircumference, 1},
		{"nasion-inion arc", h.NasionInion, minArc, maxArc, 0.64},
		{"ear-to-ear arc", h.EarEar, minArc, maxArc, 0.62},
	}
	if h.Spherical() {
		return all[:1]
	}
	return all
}

// Measures may differ from an average head's proportions by this share before
// one of them is taken for a slip of the tape (common practice, no source).
const shareTolerance = 0.15

// Check refuses measures that no head has, naming the one that disagrees, and
// returns warnings about measures that are possible but rare.
func (h Head) Check() (warnings []string, err error) {
	h = h.summed()
	for _, m := range h.measures() {
		if err := m.check(); err != nil {
			return nil, err
		}
	}
	if h.Spherical() {
		return nil, nil
	}
	if err := checkProportions(h.measures()); err != nil {
		return nil, err
	}
	e, err := fitEllipsoid(h.Circumference/4, 0.4*h.NasionInion, 0.4*h.EarEar)
	if err != nil {
		return nil, err
	}
	warnings = e.warnings()
	if h.Halves == (Halves{}) {
		return warnings, nil
	}
	uneven, err := h.checkHalves()
	return append(warnings, uneven...), err
}

func (m measure) check() error {
	switch {
	case m.value >= m.min && m.value <= m.max:
		return nil
	case m.value == 0 && m.name == circumferenceName:
		return errors.New("circumference is missing: measure it, no head goes without")
	case m.value == 0:
		return fmt.Errorf("%s is missing: measure it, or give the circumference alone", m.name)
	case m.value*10 >= m.min && m.value*10 <= m.max:
		return fmt.Errorf("%s %s mm is not a head's: is it %[2]s cm?", m.name, decimal.Digits(m.value, 5))
	case m.value/10 >= m.min && m.value/10 <= m.max:
		return fmt.Errorf("%s %s mm is not a head's: is it %s mm?", m.name, decimal.Digits(m.value, 5),
			decimal.Digits(m.value/10, 5))
	}
	return fmt.Errorf("%s %s mm is not a head's: expected %g to %g mm, measure again", m.name,
		decimal.Digits(m.value, 5), m.min, m.max)
}

// checkProportions compares the circumferences that the three measures imply.
// The median of three is sound when one of them is wrong, and the one farthest
// from it is the wrong one.
func checkProportions(all []measure) error {
	implied := make([]float64, len(all))
	for i, m := range all {
		implied[i] = m.value / m.share
	}
	sorted := slices.Sorted(slices.Values(implied))
	median := sorted[len(sorted)/2]
	worst := 0
	for i := range all {
		if math.Abs(implied[i]-median) > math.Abs(implied[worst]-median) {
			worst = i
		}
	}
	if math.Abs(implied[worst]/median-1) <= shareTolerance {
		return nil
	}
	m := all[worst]
	return fmt.Errorf("%s %s mm does not fit the other two measures: expected %.0f to %.0f mm, measure it again",
		m.name, decimal.Digits(m.value, 5), median*m.share*(1-shareTolerance),
		median*m.share*(1+shareTolerance))
}

// warnings compares breadth and length of the ring.
func (e Ellipsoid) warnings() []string {
	ratio := e.Right / e.Front
	switch {
	case ratio > 1:
		return []string{fmt.Sprintf("the head is wider than long (breadth/length %.2f): measure "+
			"again to be sure",
			ratio)}
	case ratio < 0.7:
		return []string{fmt.Sprintf("the head is very long (breadth/length %.2f): measure again to be sure",
			ratio)}
	}
	return nil
}
