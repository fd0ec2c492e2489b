package headtest

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/internal/geometry"
)

// Cap64 is 64 sites of the 10-10 system: without the lower ring but for Iz, and
// without the inner sites of the AF and PO rows that other rows lack.
func Cap64(t *testing.T, s layout.Surface) []layout.Site {
	t.Helper()
	var names []layout.Name
	for _, n := range layout.Set1010() {
		if text := string(n); !strings.HasSuffix(text, "9") && !strings.HasSuffix(text, "10") &&
			!slices.Contains([]string{"N1", "N2", "Nz", "I1", "I2", "AF5", "AF6", "PO5", "PO6", "AF1",
				"AF2"},
				text) {
			names = append(names, n)
		}
	}
	if len(names) != 64 {
		t.Fatalf("%d sites, want 64", len(names))
	}
	return layout.Sites(Place(t, s, names...))
}

// Planted turns sites as a cap would, by degrees about the three axes at once,
// and scatters them.
func Planted(sites []layout.Site, degrees r3.Vec, noise float64, rng *rand.Rand) []layout.Site {
	moved := make([]layout.Site, len(sites))
	for i, s := range sites {
		p := geometry.Turned(s.Position, r3.Scale(math.Pi/180, degrees))
		if noise > 0 {
			p = r3.Add(p, r3.Scale(noise,
				r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}))
		}
		moved[i] = layout.Site{Name: s.Name, Position: p}
	}
	return moved
}
