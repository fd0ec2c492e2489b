package erptest

import (
	"testing"

	"calotte/layout"
)

// Placed returns names on the standard sphere.
func Placed(tb testing.TB, names []layout.Name) []layout.Site {
	tb.Helper()
	p, err := layout.Place(layout.Sphere(HeadRadius), names)
	if err != nil {
		tb.Fatal(err)
	}
	return layout.Sites(p)
}

// HeadRadius is that of the standard sphere in mm.
var HeadRadius = layout.DefaultHead().Radius()
