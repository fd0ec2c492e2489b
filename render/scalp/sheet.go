package scalp

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot/vg"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo"
)

// A Sheet is a figure of maps of the scalp: one row of maps for each condition,
// one column for each latency, all on one colour scale unless asked otherwise.
// Compose checks it, computes the maps and lays out the page.
type Sheet struct {
	// Name is the figure's title for screen readers and document
	// information; it is not drawn.
	Name string
	// Rows are drawn from the top.
	Rows []Row
	// Columns are the latencies as text, "170 ms" or "150–190 ms".
	Columns []string
	// Quantity is what is mapped. The scale is in µV for potentials and in
	// µV/cm² for current densities.
	Quantity topo.Quantity
	// Shows is what of the quantity is drawn: its values, or how sure they
	// are.
	Shows Showing
	// Statistic, where it is not empty, is what Values holds instead of
	// potentials, a number without unit: "t, 11 degrees of freedom".
	Statistic string
	// Pale lists, for each column, whether it is drawn in pale colours,
	// since what it shows is not shown to differ; nil: none is.
	Pale []bool
	// Over is what agreement counts, "people" or "epochs"; empty: unknown.
	Over string
	// Boundary says where values are too near zero to be told from it. Its
	// standard errors take the rows' Spread.
	Boundary Boundary
	// Overhang is how far, in mm, maps go beyond the electrodes; zero is
	// topo.Overhang. Extrapolate draws all, hatched where the electrodes
	// know nothing.
	Overhang    float64
	Extrapolate bool
	// Unringed leaves out the rings of electrodes that depart from what the
	// others predict.
	Unringed bool

	// Views are where the head is seen from; none is from above.
	Views []View
	// Spacing is the projection of the views from above.
	Spacing Spacing
	// Palette is the family of colours.
	Palette Palette
	// Form is how the fields are drawn: as pictures or as bands between
	// contours.
	Form Form
	// Scaling says which rows share a scale.
	Scaling Scaling

	// Width of the figure; zero is 180 mm.
	Width vg.Length
	// Head gives the outline the head's proportions; the zero value is a
	// sphere.
	Head head.Ellipsoid
	// Labels asks for the names of the sites, as many as have room.
	Labels bool

	// Limit is the value at the ends of the scale, in the unit of the
	// quantity; zero chooses the largest magnitude drawn, rounded outward
	// by NiceLimit. With several scales it holds for all of them.
	Limit float64
	// StandardError is the median standard error of the values in the unit
	// of the quantity. Contours are never closer than twice of it. Zero is
	// unknown.
	StandardError float64
	// BaselinePower is the field power in the baseline in µV; zero is
	// unknown.
	BaselinePower float64

	// Reference says what the potentials are measured against, "average of
	// 64 sites"; empty is unknown, and the legend says so.
	Reference string
	// Digitised says that positions were measured on the wearer. Else they
	// are the ideal ones of the head model.
	Digitised bool
	// Synthetic adds the words "synthetic data".
	Synthetic bool
	// Choice says why some electrodes are marked, as a phrase: "in a
	// cluster, p = 0.002".
	Choice string
	// Remarks are sentences added to the legend.
	Remarks []string
}

// A Row is one condition, participant or difference.
type Row struct {
	// Title names it in full: "known minus novel".
	Title string
	// Note says how much data it rests on, "12 people, 98–100 epochs";
	// empty is unknown, and the row says so.
	Note string
	// Spline interpolates between the sites. Rows with the same *Spline
	// share its evaluation.
	Spline *topo.Spline
	// Values holds µV, a row for each of the spline's sites and a column
	// for each of the sheet's.
	Values mat.Matrix
	// Difference says that the row is one, which Scaling may give a scale
	// of its own.
	Difference bool
	// RightHalf draws only the right half of the head: of right minus left,
	// whose other half is its mirror image.
	RightHalf bool
	// Spread, where the sheet needs it, holds for each of the sheet's
	// columns a matrix of as many rows as Values, in µV, whose product with
	// its own transpose is the covariance of the values: their errors,
	// between the sites as well, follow from it. Where it has a column for
	// each person or epoch, as agreement needs, that is their deviation
	// from the mean over √(n(n−1)).
	Spread []mat.Matrix
	// Placement, where it is not nil, gives what not knowing how the cap
	// sat adds to all errors at some points, point × column in µV.
	Placement func(points []r3.Vec) (*mat.Dense, error)
	// Freedom is the number of degrees of freedom of t.
	Freedom int
	// Chosen lists, for each of the sheet's columns, the marks that are
	// drawn larger, by their index. The sheet's Choice says why.
	Chosen [][]int
	// Marks are the electrodes that are drawn: one for each of the spline's
	// sites in the order of Values' rows, then those left out. Nil draws
	// none.
	Marks []Mark
}

// A Mark is an electrode on a map.
type Mark struct {
	Site layout.Site
	Kind MarkKind
}

// MarkKind is what is known at an electrode.
type MarkKind int

const (
	Measured MarkKind = iota // a filled mark
	Repaired                 // an open mark: the value was interpolated
	LeftOut                  // a cross: there is no value
)

// MeasuredAt marks all sites as measured.
func MeasuredAt(sites []layout.Site) []Mark {
	marks := make([]Mark, len(sites))
	for i, s := range sites {
		marks[i] = Mark{Site: s}
	}
	return marks
}

// Validate finds what would make the sheet wrong or empty, before any work.
func (s *Sheet) Validate() error {
	if len(s.Rows) == 0 || len(s.Columns) == 0 {
		return fmt.Errorf("a sheet of %d rows and %d columns has no map: give at least one of each",
			len(s.Rows),
			len(s.Columns))
	}
	if s.Quantity != topo.Potential && s.Quantity != topo.CurrentDensity {
		return fmt.Errorf("quantity %d is unknown: potential or current density", s.Quantity)
	}
	for _, n := range []struct {
		name  string
		value float64
	}{
		{"limit", s.Limit}, {"standard error", s.StandardError},
		{"baseline power", s.BaselinePower}, {"width", float64(s.Width)}, {"overhang", s.Overhang},
		{"boundary", s.Boundary.Errors},
	} {
		if !(n.value >= 0) || math.IsInf(n.value, 1) {
			return fmt.Errorf("the sheet's %s is %g: it must be a positive number, or zero for the default",
				n.name,
				n.value)
		}
	}
	if s.Shows != Amplitudes && s.Quantity != topo.Potential {
		return fmt.Errorf("%s is of the potential: leave the current density", s.quantityName())
	}
	if s.Pale != nil && len(s.Pale) != len(s.Columns) {
		return fmt.Errorf("%d columns of %d are said to be pale or not: say it of each, or of none",
			len(s.Pale),
			len(s.Columns))
	}
	if s.Boundary.Errors > 0 {
		if err := s.validateBoundary(); err != nil {
			return err
		}
	}
	for i := range s.Rows {
		err := s.Rows[i].validate(s.Columns)
		if err == nil && s.uncertain() {
			err = s.Rows[i].validateSpread(len(s.Columns))
		}
		if err != nil {
			return fmt.Errorf("row %d (%q): %w", i+1, s.Rows[i].Title, err)
		}
	}
	return nil
}

func (s *Sheet) validateBoundary() error {
	switch of := s.Boundary.Of; {
	case s.Shows != Amplitudes:
		return errors.New("only values have a boundary of errors: leave it out")
	case !of.isError():
		return errors.New("a boundary is of standard errors, of those of the interpolation, or of both")
	case of != StandardErrors && s.Quantity != topo.Potential:
		return errors.New("the error of the interpolation is that of the potential: a boundary of current " +
			"densities is of standard errors")
	}
	return nil
}

func (r *Row) validate(columns []string) error {
	if r.Spline == nil || r.Values == nil {
		return errors.New("no spline or no values: a map needs both")
	}
	sites, latencies := r.Values.Dims()
	if latencies != len(columns) {
		return fmt.Errorf("%d columns of values for %d latencies: give one for each", latencies, len(columns))
	}
	for site := range sites {
		for column, name := range columns {
			if v := r.Values.At(site, column); math.IsNaN(v) || math.IsInf(v, 0) {
				return fmt.Errorf("the value of site %d of %d at %s is %g: repair the site or "+
					"leave it out",
					site+1,
					sites, name, v)
			}
		}
	}
	if n := len(r.Marks); n > 0 && n < sites {
		return fmt.Errorf("%d marks for %d sites: give one for each, or none", n, sites)
	}
	for _, chosen := range r.Chosen {
		for _, i := range chosen {
			if i < 0 || i >= len(r.Marks) {
				return fmt.Errorf("mark %d is to be larger, of %d", i+1, len(r.Marks))
			}
		}
	}
	if len(r.Chosen) > 0 && len(r.Chosen) != len(columns) {
		return fmt.Errorf("larger marks for %d columns of %d: give a list for each, or none", len(r.Chosen),
			len(columns))
	}
	for i, m := range r.Marks {
		if (m.Kind == LeftOut) != (i >= sites) {
			return fmt.Errorf("mark %d, %q: the first %d marks belong to the sites with values, those "+
				"after them "+
				"are left out", i+1, m.Site.Name, sites)
		}
		if p := m.Site.Position; !(p.X*p.X+p.Y*p.Y+p.Z*p.Z > 0) || math.IsInf(p.X+p.Y+p.Z, 0) {
			return fmt.Errorf("site %q has no direction from the head's centre: its position is "+
				"(%g, %g, %g)",
				m.Site.Name, p.X, p.Y, p.Z)
		}
	}
	return nil
}

// validateSpread finds what would make t and what belongs to it wrong.
func (r *Row) validateSpread(columns int) error {
	sites, _ := r.Values.Dims()
	if len(r.Spread) != columns || r.Freedom < 1 {
		return fmt.Errorf("%d spreads for %d columns and %d degrees of freedom: t needs one for each, "+
			"and 1 or more",
			len(r.Spread), columns, r.Freedom)
	}
	for _, m := range r.Spread {
		if rows, _ := m.Dims(); rows != sites {
			return fmt.Errorf("a spread of %d sites for %d: give one row for each", rows, sites)
		}
	}
	return nil
}
