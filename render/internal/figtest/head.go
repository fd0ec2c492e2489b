package figtest

import (
	"testing"

	"calotte/layout"
)

// LongHead is a head that is longer than wide.
func LongHead(t testing.TB) layout.Ellipsoid {
	t.Helper()
	e, err := layout.Head{Circumference: 560, NasionInion: 365, EarEar: 340}.Model()
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// Place finds sites on a head.
func Place(t testing.TB, head layout.Ellipsoid, names []layout.Name) []layout.Site {
	t.Helper()
	placements, err := layout.Place(head, names)
	if err != nil {
		t.Fatal(err)
	}
	return layout.Sites(placements)
}
