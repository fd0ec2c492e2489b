package headtest

import (
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
)

// Measured is the ellipsoid of the stored reference.
func Measured(t testing.TB) head.Ellipsoid {
	t.Helper()
	e, err := head.Head{Circumference: 560, NasionInion: 365, EarEar: 340}.Model()
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// Place places sites by the rules.
func Place(t testing.TB, s layout.Surface, list ...layout.Name) []layout.Placement {
	t.Helper()
	placements, err := layout.Place(s, list)
	if err != nil {
		t.Fatal(err)
	}
	return placements
}

// Positions are the places of sites by the rules.
func Positions(t testing.TB, s layout.Surface, list ...layout.Name) map[layout.Name]r3.Vec {
	at := make(map[layout.Name]r3.Vec)
	for _, p := range Place(t, s, list...) {
		at[layout.Name(p.Name)] = p.Position
	}
	return at
}

// Apart is the distance between two points.
func Apart(p, q r3.Vec) float64 { return r3.Norm(r3.Sub(p, q)) }
