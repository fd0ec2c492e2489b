package figtest

import (
	"testing"

	"calotte/layout"
	"calotte/layout/head"
)

// LongHead is a head that is longer than wide.
func LongHead(t testing.TB) head.Ellipsoid {
	t.Helper()
	e, err := head.Head{Circumference: 560, NasionInion: 365, EarEar: 340}.Model()
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// Place finds sites on a head.
func Place(t testing.TB, model head.Ellipsoid, names []layout.Name) []layout.Site {
	t.Helper()
	placements, err := layout.Place(model, names)
	if err != nil {
		t.Fatal(err)
	}
	return layout.Sites(placements)
}
