package page

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/scalp"
	"calotte/topo"
)

// hill is a study of 10-10 sites, or of those that are kept of them, with a
// smooth hill of 10 µV between electrodes.
func hill(t *testing.T, keep func(layout.Site) bool) *Study {
	t.Helper()
	placed, err := layout.Place(head.Sphere(89), layout.Set1010())
	if err != nil {
		t.Fatal(err)
	}
	s := &Study{Title: "pilots", Head: head.Sphere(89), Times: []float64{0, .1}}
	for _, site := range layout.Sites(placed) {
		if keep(site) {
			s.Sites = append(s.Sites, site)
		}
	}
	if s.Spline, err = topo.New(s.Sites, topo.Options{Radius: 89}); err != nil {
		t.Fatal(err)
	}
	top := r3.Unit(r3.Vec{X: .12, Y: .12, Z: 1})
	c := Condition{Title: "known", Marks: make([]scalp.MarkKind, len(s.Sites))}
	for _, site := range s.Sites {
		angle := math.Acos(min(1, r3.Dot(r3.Unit(site.Position), top)))
		v := 10 * math.Exp(-angle*angle/.32)
		c.Values = append(c.Values, []float64{v, v / 2})
	}
	s.Conditions = []Condition{c}
	return s
}

// needed is what the scale of potentials has to hold, and the largest value at
// a site.
func needed(t *testing.T, s *Study) (needs, atSites float64) {
	t.Helper()
	g := newGrid(len(s.Sites))
	k, err := s.know(g)
	if err != nil {
		t.Fatal(err)
	}
	kernel, err := s.kernel(g, topo.Potential)
	if err != nil {
		t.Fatal(err)
	}
	return k.needs(g, kernel, topo.Potential), k.known[0].Largest
}

// The scale holds what is surely more between the electrodes than at any, and
// nothing that lies beyond them.
func TestScaleNeeds(t *testing.T) {
	needs, atSites := needed(t, hill(t, func(layout.Site) bool { return true }))
	if t.Logf("%.2f at the sites, %.2f needed, 10 in truth", atSites, needs); needs < atSites || needs > 10.05 {
		t.Errorf("%.3g is needed of a hill of 10 µV with %.3g at the sites", needs, atSites)
	}
	// Half a hill, whose slope the spline carries on where no electrode is.
	half := hill(t, func(s layout.Site) bool { return s.Position.Y > 20 })
	needs, atSites = needed(t, half)
	beyond := 0.
	kernel, err := half.kernel(newGrid(len(half.Sites)), topo.Potential)
	if err != nil {
		t.Fatal(err)
	}
	for node := range kernel[0] {
		v := 0.
		for i, row := range kernel {
			v += row[node] * half.Conditions[0].Values[i][0]
		}
		beyond = max(beyond, math.Abs(v))
	}
	t.Logf("%.2f at the sites, %.2f needed, %.2f beyond", atSites, needs, beyond)
	if needs < atSites || needs > 10.05 || beyond < 1.2*needs {
		t.Errorf("%.3g needed, %.3g at the sites, %.3g beyond", needs, atSites, beyond)
	}
}

// A repaired electrode knows nothing of its own: its condition has a land with
// more that is not known, and leaves that of the others alone.
func TestRepairedElectrodesKnowNothing(t *testing.T) {
	s := hill(t, func(layout.Site) bool { return true })
	repaired := s.Conditions[0]
	repaired.Title, repaired.Marks = "novel", make([]scalp.MarkKind, len(s.Sites))
	around := -1
	for i, site := range s.Sites {
		if r3.Norm(r3.Sub(site.Position, s.Sites[0].Position)) < 60 {
			repaired.Marks[i], around = scalp.Repaired, i
		}
	}
	s.Conditions = append(s.Conditions, repaired)
	g := newGrid(len(s.Sites))
	k, err := s.know(g)
	if err != nil {
		t.Fatal(err)
	}
	if len(k.lands) != 2 || k.of[0] == k.of[1] {
		t.Fatalf("%d lands, %v", len(k.lands), k.of)
	}
	whole, less := k.lands[0], k.lands[1]
	if node := len(g.at) + around; !whole.isKnown(node) || less.shape[node] < 10*whole.shape[node] {
		t.Errorf("at %s the variance is %g where it is measured, and %g where not", s.Sites[around].Name,
			whole.shape[node], less.shape[node])
	}
	packed, err := k.packed(len(g.at))
	if err != nil {
		t.Fatal(err)
	}
	if packed[0].Electrodes != len(s.Sites) || packed[1].Electrodes >= packed[0].Electrodes {
		t.Errorf("%d and %d electrodes", packed[0].Electrodes, packed[1].Electrodes)
	}
	// The page reads the same shape and standing.
	worst := 0.
	for i, v := range unpack(t, packed[1].Shape)[0] {
		worst = max(worst, math.Abs(math.Sqrt(v)-math.Sqrt(less.shape[i])))
	}
	if most := 1e-3 * math.Sqrt(less.shape[len(g.at)+around]); worst > most {
		t.Errorf("packed shapes are off by %g, want at most %g", worst, most)
	}
}

// Extrapolate leaves no paper, and what would be paper is guessed.
func TestExtrapolateLeavesNoPaper(t *testing.T) {
	s := hill(t, func(s layout.Site) bool { return s.Position.Y > 20 })
	g := newGrid(len(s.Sites))
	before, err := s.know(g)
	if err != nil {
		t.Fatal(err)
	}
	s.Extrapolate = true
	after, err := s.know(g)
	if err != nil {
		t.Fatal(err)
	}
	paper := 0
	for i := range g.at {
		if !after.lands[0].isDrawn(i) {
			t.Fatal("paper although all is to be drawn")
		}
		if !before.lands[0].isDrawn(i) {
			if paper++; after.lands[0].isKnown(i) {
				t.Fatal("what was paper is known")
			}
		}
	}
	if paper < 500 {
		t.Errorf("only %d nodes were paper", paper)
	}
}
