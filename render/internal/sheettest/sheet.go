package sheettest

import (
	"fmt"
	"testing"

	"gonum.org/v1/gonum/mat"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/internal/figtest"
	"calotte/render/scalp"
)

// Demo is a sheet of invented maps of the named sites.
func Demo(t testing.TB, names []layout.Name, rows, columns int) *scalp.Sheet {
	t.Helper()
	sites := figtest.Place(t, head.Sphere(89.127), names)
	spline := figtest.SplineOf(t, sites)
	known := figtest.Amplitudes(sites, columns)
	novel := mat.DenseCopyOf(known)
	novel.Scale(.7, novel)
	difference := mat.DenseCopyOf(known)
	difference.Sub(known, novel)
	s := &scalp.Sheet{Name: "Signal flags", Reference: fmt.Sprintf("average of %d sites", len(sites)),
		Synthetic: true}
	for c := range columns {
		s.Columns = append(s.Columns, fmt.Sprintf("%d ms", 150+10*c))
	}
	for _, r := range []scalp.Row{
		{Title: "known", Note: "12 people, 98–100 epochs", Values: known},
		{Title: "novel", Note: "12 people, 96–100 epochs", Values: novel},
		{Title: "known minus novel", Note: "12 people", Values: difference},
	}[:rows] {
		r.Spline, r.Marks = spline, scalp.MeasuredAt(sites)
		s.Rows = append(s.Rows, r)
	}
	return s
}

// Compose lays a sheet out.
func Compose(t testing.TB, s *scalp.Sheet) *scalp.Plate {
	t.Helper()
	p, err := s.Compose()
	if err != nil {
		t.Fatal(err)
	}
	return p
}
