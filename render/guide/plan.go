package guide

import (
	"slices"
	"strings"

	"calotte/layout"
	"calotte/layout/head"
)

// A plan is all marks of one head in the order of work: along the midline, from
// ear to ear, along both sides of the ring, and then those that lie on no
// straight tape.
type plan struct {
	surface layout.Surface
	head    head.Head // as the tape read it; zero arcs were not measured
	marks   []*mark
	order   []*mark // the electrodes as they go on; their numbers count from 1
	byName  map[layout.Name]*mark
}

// A mark is a place on the scalp.
type mark struct {
	layout.Placement
	name      layout.Name
	electrode bool // else others are measured from it
	landmark  bool // nasion, inion, preauricular point: felt, not measured
	number    int  // in the order of work; 0 without electrode
	rests     bool // on the bed or headrest
	crossings []crossing
}

// The arcs that a straight tape follows.
const (
	midline   = "Nz-Cz-Iz"
	coronal   = "LPA-Cz-RPA"
	leftRing  = "Fpz-T7-Oz"
	rightRing = "Fpz-T8-Oz"
)

var straightArcs = []string{midline, coronal, leftRing, rightRing}

// skeleton are the marks that others need, whatever the set.
var skeleton = []layout.Name{"Nz", "Iz", "LPA", "RPA", "Cz", "Fpz", "Oz", "T7", "T8"}

// mostSites is as many as the drawing of the head holds in type of 9 points.
const mostSites = 99

func newPlan(s layout.Surface, h head.Head, o *Options) (*plan, error) {
	names := o.Sites
	if len(names) == 0 {
		names = layout.Set1020()
	}
	if _, err := layout.Place(s, names); err != nil {
		return nil, err // names the user's own mistakes, before any is added
	}
	p := &plan{surface: s, head: h, byName: map[layout.Name]*mark{}}
	placed, err := layout.Place(s, withHelpers(names))
	if err != nil {
		return nil, err
	}
	for _, at := range placed {
		m := &mark{Placement: at, name: layout.Name(at.Name)}
		m.electrode = slices.Contains(names, m.name)
		m.landmark = isLandmark(m.name)
		p.byName[m.name] = m
		p.marks = append(p.marks, m)
	}
	p.sort()
	p.rest(o.Posture)
	p.number(o.Posture)
	return p, p.cross()
}

// isLandmark also knows the preauricular points under their sites' names.
func isLandmark(n layout.Name) bool {
	return slices.Contains([]layout.Name{"Nz", "Iz", "LPA", "RPA", "T9", "T10"}, n)
}

// withHelpers adds the marks from which the rules reach the sites of a set.
func withHelpers(names []layout.Name) []layout.Name {
	all := slices.Clone(names)
	add := func(list ...layout.Name) {
		for _, n := range list {
			if !slices.Contains(all, n) {
				all = append(all, n)
			}
		}
	}
	for i := 0; i < len(all); i++ {
		if r, ok := ruleOf(all[i]); ok && !slices.Contains(straightArcs, r.Arc()) {
			add(r.From, r.Via, r.To)
		}
	}
	add(skeleton...)
	return all
}

// ruleOf is the rule that places a site.
func ruleOf(n layout.Name) (layout.Rule, bool) {
	for _, r := range layout.Rules() {
		if slices.Contains(r.Sites, n) {
			return r, true
		}
	}
	return layout.Rule{}, false
}

// sort puts the straight arcs first, and on each of them the tape's order. The
// rest stays in the set's order.
func (p *plan) sort() {
	rank := func(m *mark) (int, float64) {
		if i := slices.Index(straightArcs, m.Arc); i >= 0 {
			return i, m.Distance
		}
		return len(straightArcs), 0
	}
	slices.SortStableFunc(p.marks, func(a, b *mark) int {
		ia, da := rank(a)
		ib, db := rank(b)
		if ia != ib {
			return ia - ib
		}
		switch {
		case da < db:
			return -1
		case da > db:
			return 1
		}
		return 0
	})
}

// restRows begin the names of the sites on which the head lies on a bed or
// headrest: the rows from PO back, on any head (common practice, no source).
var restRows = []string{"PO", "O", "I"}

func (p *plan) rest(posture Posture) {
	if posture == Sitting {
		return
	}
	for _, m := range p.marks {
		m.rests = slices.ContainsFunc(restRows,
			func(row string) bool { return strings.HasPrefix(string(m.name), row) })
	}
}

// number counts the electrodes; for a wearer who will lie, the head's back
// comes first.
func (p *plan) number(posture Posture) {
	for _, m := range p.marks {
		if m.electrode {
			p.order = append(p.order, m)
		}
	}
	if posture == Lying {
		slices.SortStableFunc(p.order, func(a, b *mark) int { return rank(b.rests) - rank(a.rests) })
	}
	for i, m := range p.order {
		m.number = i + 1
	}
}

func rank(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

// on lists the marks of a straight arc that are measured, in the tape's order.
func (p *plan) on(arc string) []*mark {
	var list []*mark
	for _, m := range p.marks {
		if m.Arc == arc && !m.landmark {
			list = append(list, m)
		}
	}
	return list
}

// length is an arc's, in mm.
func (p *plan) length(arc string) (float64, error) {
	before, after, err := p.halves(arc)
	return before + after, err
}

// halves are the lengths of an arc's parts before and after its middle point.
func (p *plan) halves(arc string) (before, after float64, err error) {
	a, err := ruleNamed(arc).Section(p.surface)
	if err != nil {
		return 0, 0, err
	}
	first, second := a.Parts()
	return first.Length(), second.Length(), nil
}

// ruleNamed is the rule of an arc that the package has a name for.
func ruleNamed(arc string) layout.Rule {
	rules := layout.Rules()
	return rules[slices.IndexFunc(rules, func(r layout.Rule) bool { return r.Arc() == arc })]
}

// aside lists the marks on no straight arc, and among them the pairs.
func (p *plan) aside() []*mark {
	var list []*mark
	for _, m := range p.marks {
		if !slices.Contains(straightArcs, m.Arc) && !m.landmark {
			list = append(list, m)
		}
	}
	return list
}
