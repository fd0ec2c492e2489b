package palette

import (
	"image/color"
	"testing"
)

// grounds are what curves are drawn on, with the lightness that they need
// there.
var grounds = []struct {
	name            string
	colours         func() []color.RGBA
	lowest, highest float64
}{
	{"on white", Categories, 0, 0.8},
	{"on dark", CategoriesOnDark, 0.5, 1},
}

// Each colour is apart from every other to every eye, and from the ground.
func TestCategoriesAreDistinct(t *testing.T) {
	for _, g := range grounds {
		for _, e := range eyes {
			least := 1.0
			for i, a := range g.colours() {
				seen := e.sees(fromRGBA(a))
				for _, b := range g.colours()[:i] {
					least = min(least, distance(seen, e.sees(fromRGBA(b))))
				}
				if seen.l < g.lowest || seen.l > g.highest {
					t.Errorf("%s, %s: colour %d has lightness %.2f, want %g to %g", g.name, e.name,
						i,
						seen.l,
						g.lowest,
						g.highest)
				}
			}
			t.Logf("%s, %s: the closest two are %.3f apart", g.name, e.name, least)
			if least < 0.06 {
				t.Errorf("%s, %s: the closest two are %.3f apart, want 0.06", g.name, e.name, least)
			}
		}
	}
}

// In grey print neighbours in the order differ by lightness.
func TestCategoriesInGrey(t *testing.T) {
	for _, g := range grounds {
		list := g.colours()
		for i := 1; i < len(list); i++ {
			a, b := fromRGBA(list[i-1]).lab().l, fromRGBA(list[i]).lab().l
			if d := a - b; d < 0.1 && d > -0.1 {
				t.Errorf("%s: colours %d and %d differ by %.2f in lightness, want 0.1", g.name, i-1, i,
					d)
			}
		}
	}
}
