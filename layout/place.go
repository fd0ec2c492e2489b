package layout

import (
	"fmt"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"
)

// A Placement is a site and how to find it with a tape.
type Placement struct {
	Site
	Arc      string  // the arc it lies on: "Nz-Cz-Iz"
	From     Name    // the arc's start, where the tape's zero goes
	Distance float64 // from there along the arc, in mm
}

// Place finds sites on a surface by the rules, in the order of the names.
// Earlobes and mastoids are not on a head model and are refused, as is a name
// that is given twice.
func Place(s Surface, list []Name) ([]Placement, error) {
	p := newPlacer(s)
	given := make(map[Name]bool, len(list))
	placements := make([]Placement, 0, len(list))
	for _, n := range list {
		if given[n] {
			return nil, fmt.Errorf("site %q is given twice: keep one", n)
		}
		given[n] = true
		placement, err := p.place(n)
		if err != nil {
			return nil, err
		}
		placements = append(placements, placement)
	}
	return placements, nil
}

// Sites returns the sites of placements, in their order.
func Sites(placements []Placement) []Site {
	sites := make([]Site, len(placements))
	for i, p := range placements {
		sites[i] = p.Site
	}
	return sites
}

// Section returns the arc of a rule on a surface.
func (r Rule) Section(s Surface) (Arc, error) { return newPlacer(s).section(r) }

// A placer follows the rules back to the landmarks, as far as the wanted sites
// need, and keeps what it has found.
type placer struct {
	surface   Surface
	landmarks map[Name]r3.Vec
	arcs      map[string]Arc
}

func newPlacer(s Surface) *placer {
	return &placer{surface: s, landmarks: s.Landmarks().Named(), arcs: map[string]Arc{}}
}

func (p *placer) place(n Name) (Placement, error) {
	at, ok := marks()[n]
	if !ok {
		return Placement{}, notPlaced(n)
	}
	arc, err := p.section(at.rule)
	if err != nil {
		return Placement{}, fmt.Errorf("site %q: %w", n, err)
	}
	position, distance := at.on(arc)
	return Placement{
		Site:     Site{Name: string(n), Position: position},
		Arc:      at.rule.Arc(),
		From:     at.rule.From,
		Distance: distance,
	}, nil
}

// position finds a point that another rule starts from.
func (p *placer) position(n Name) (r3.Vec, error) {
	if v, ok := p.landmarks[n]; ok {
		return v, nil
	}
	placement, err := p.place(n)
	return placement.Position, err
}

func (p *placer) section(r Rule) (Arc, error) {
	if arc, ok := p.arcs[r.Arc()]; ok {
		return arc, nil
	}
	var points [3]r3.Vec
	for i, n := range []Name{r.From, r.Via, r.To} {
		var err error
		if points[i], err = p.position(n); err != nil {
			return nil, err
		}
	}
	arc, err := p.surface.Section(points[0], points[1], points[2])
	if err != nil {
		return nil, fmt.Errorf("arc %s: %w", r.Arc(), err)
	}
	p.arcs[r.Arc()] = arc
	return arc, nil
}

// notPlaced says why the rules do not place a name.
func notPlaced(n Name) error {
	if k := n.Kind(); k != Unknown {
		return fmt.Errorf("%s %q is not on the head model: leave it out of the sites to place", k, n)
	}
	_, err := Parse(string(n))
	if err == nil {
		err = fmt.Errorf("site %q is not in the guideline's spelling: parse it first", n)
	}
	return err
}

// A mark is a step of a rule.
type mark struct {
	rule Rule
	step int
}

// marks finds the first rule that gives a site. The preauricular points are the
// ends of the arc between them.
var marks = sync.OnceValue(func() map[Name]mark {
	found := map[Name]mark{}
	add := func(n Name, m mark) {
		if _, ok := found[n]; !ok {
			found[n] = m
		}
	}
	for _, r := range Rules() {
		for step, n := range r.Sites {
			add(n, mark{r, step})
		}
		add(r.From, mark{r, 0})
		add(r.To, mark{r, len(r.Sites) - 1})
	}
	return found
})

// RuleOf returns the rule by which [Place] finds a site, a landmark's too;
// false for names that the rules do not give.
func RuleOf(n Name) (Rule, bool) {
	at, ok := marks()[n]
	return at.rule, ok
}

// on returns the mark's position on its rule's arc and its distance from the
// arc's start.
func (m mark) on(arc Arc) (r3.Vec, float64) {
	steps := len(m.rule.Sites) - 1
	if !m.rule.Split {
		f := float64(m.step) / float64(steps)
		return arc.At(f), f * arc.Length()
	}
	before, after := arc.Parts()
	f := float64(m.step) / float64(steps/2)
	if f <= 1 {
		return before.At(f), f * before.Length()
	}
	return after.At(f - 1), before.Length() + (f-1)*after.Length()
}
