package palette

import "testing"

// Each colour is apart from every other to every eye, and from white.
func TestCategoriesAreDistinct(t *testing.T) {
	for _, e := range eyes {
		least := 1.0
		for i, a := range Categories() {
			seen := e.sees(fromRGBA(a))
			for _, b := range Categories()[:i] {
				least = min(least, distance(seen, e.sees(fromRGBA(b))))
			}
			if seen.l > 0.8 {
				t.Errorf("%s: colour %d has lightness %.2f, too pale for a line on white", e.name, i, seen.l)
			}
		}
		t.Logf("%s: the closest two are %.3f apart", e.name, least)
		if least < 0.06 {
			t.Errorf("%s: the closest two are %.3f apart, want 0.06", e.name, least)
		}
	}
}

// In grey print neighbours in the order differ by lightness.
func TestCategoriesInGrey(t *testing.T) {
	list := Categories()
	for i := 1; i < len(list); i++ {
		a, b := fromRGBA(list[i-1]).lab().l, fromRGBA(list[i]).lab().l
		if d := a - b; d < 0.1 && d > -0.1 {
			t.Errorf("colours %d and %d differ by %.2f in lightness, want 0.1", i-1, i, d)
		}
	}
}
