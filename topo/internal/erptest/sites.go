package erptest

import (
	"testing"

	"calotte/layout"
	"calotte/layout/head"
)

// Placed returns names on the standard sphere.
func Placed(tb testing.TB, names []layout.Name) []layout.Site {
	tb.Helper()
	p, err := layout.Place(head.Sphere(HeadRadius), names)
	if err != nil {
		tb.Fatal(err)
	}
	return layout.Sites(p)
}

// HeadRadius is that of the standard sphere in mm.
var HeadRadius = head.Default().Radius()
