package guide

import (
	"slices"

	"calotte/layout"
)

// A strip is a paper tape of one arc. One edge is the arc; the paper lies to
// its left as seen along it, or to its right.
type strip struct {
	arc       string
	from, to  layout.Name
	marks     []stripMark
	line      flatLine
	rightward bool // the paper
	nose      noseDirection
}

// A stripMark is a site at a distance from the strip's start along its edge.
type stripMark struct {
	name     layout.Name
	distance float64
}

// noseDirection says where the nose is from a strip.
type noseDirection int

const (
	noseAtStart noseDirection = iota // the strip runs away from it
	noseLeft                         // the strip runs from the wearer's left to the right
)

// straightStrips are the arcs that a tape follows: midline, ear to ear, and the
// ring in two halves from Fpz to Oz. The paper of the ring lies above it.
func (p *plan) straightStrips() ([]strip, error) {
	var list []strip
	for _, a := range []struct {
		arc       string
		rightward bool
		nose      noseDirection
	}{
		{midline, false, noseAtStart},
		{coronal, false, noseLeft},
		{leftRing, false, noseAtStart},
		{rightRing, true, noseAtStart},
	} {
		length, err := p.length(a.arc)
		if err != nil {
			return nil, err
		}
		s := strip{arc: a.arc, line: straightLine(length), rightward: a.rightward, nose: a.nose}
		r := ruleNamed(a.arc)
		s.from, s.to = r.From, r.To
		if err := s.mark(p, r); err != nil {
			return nil, err
		}
		list = append(list, s)
	}
	return list, nil
}

// curvedStrips are the rows and lower rings on which the set has electrodes.
func (p *plan) curvedStrips() ([]strip, error) {
	var list []strip
	for _, r := range layout.Rules() {
		wanted := slices.ContainsFunc(p.order, func(m *mark) bool { return m.Arc == r.Arc() && !m.landmark })
		if !wanted || slices.Contains(straightArcs, r.Arc()) {
			continue
		}
		arc, err := r.Section(p.surface)
		if err != nil {
			return nil, err
		}
		line, err := unroll(arc)
		if err != nil {
			return nil, err
		}
		s := strip{arc: r.Arc(), from: r.From, to: r.To, line: line, nose: noseLeft}
		if r.From.Side() == layout.Midline { // a ring below the ring
			s.nose, s.rightward = noseAtStart, r.Via.Side() == layout.RightSide
		}
		if err := s.mark(p, r); err != nil {
			return nil, err
		}
		list = append(list, s)
	}
	return list, nil
}

// mark puts the plan's marks on the strip, those too that another rule gives
// first: T7 lies on the ring as well.
func (s *strip) mark(p *plan, r layout.Rule) error {
	arc, err := r.Section(p.surface)
	if err != nil {
		return err
	}
	steps := len(r.Sites) - 1
	for i, n := range r.Sites {
		if i == steps/2 {
			n = r.Via // on the lower ring the ear point, which is also T9 or T10
		}
		if p.byName[n] == nil || n == s.from || n == s.to || i == 0 || i == steps {
			continue
		}
		s.marks = append(s.marks, stripMark{n, stepAt(r, arc, i)})
	}
	return nil
}

// stepAt is the distance of a rule's i-th site from the arc's start.
func stepAt(r layout.Rule, arc layout.Arc, i int) float64 {
	f := float64(i) / float64(len(r.Sites)-1)
	if !r.Split {
		return f * arc.Length()
	}
	before, after := arc.Parts()
	if f <= .5 {
		return 2 * f * before.Length()
	}
	return before.Length() + (2*f-1)*after.Length()
}
