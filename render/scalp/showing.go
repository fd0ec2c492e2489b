package scalp

import (
	"fmt"
	"image/color"
	"slices"

	"calotte/render/palette"
	"calotte/topo"
)

// Showing is what of a quantity a sheet draws.
type Showing int

const (
	Amplitudes          Showing = iota // the mean itself
	TValues                            // the mean over its standard error
	StandardErrors                     // of the mean
	Agreement                          // the share, in %, of people or epochs whose value has the mean's sign
	InterpolationErrors                // how far the interpolation may be from the field between the sites
	AllErrors                          // both of sampling and of interpolation
)

// A Boundary is drawn where values are a number of errors from zero, and what
// lies within it is stippled.
type Boundary struct {
	Errors float64 // how many; zero: no boundary
	Of     Showing // StandardErrors, InterpolationErrors or AllErrors
}

// A Palette is a family of colour scales.
type Palette int

const (
	Colour Palette = iota
	Grey           // for print without colour
)

var palettes = [...]struct {
	name               string
	signed, sequential palette.Scale
}{
	Colour: {"colour", palette.Diverging, palette.Sequential},
	Grey:   {"grey", palette.Grey, palette.GreySequential},
}

// Signed is the palette's scale of values of both signs.
func (p Palette) Signed() palette.Scale { return palettes[p].signed }

// Sequential is the palette's scale of values from zero on.
func (p Palette) Sequential() palette.Scale { return palettes[p].sequential }

func (p Palette) String() string { return palettes[p].name }
func (Palette) Type() string     { return "palette" }

// Set reads colour or grey.
func (p *Palette) Set(text string) error {
	for i, o := range palettes {
		if o.name == text {
			*p = Palette(i)
			return nil
		}
	}
	return fmt.Errorf("%q is no palette: expected colour or grey", text)
}

// A Form is how a field is drawn.
type Form int

const (
	Shades Form = iota // a picture of as many colours as the field has
	Bands              // areas in one colour each, between contours: lines only, no picture
)

var forms = [...]string{Shades: "shades", Bands: "bands"}

func (f Form) String() string { return forms[f] }
func (Form) Type() string     { return "form" }

// Set reads shades or bands.
func (f *Form) Set(text string) error {
	i := slices.Index(forms[:], text)
	if i < 0 {
		return fmt.Errorf("%q is no way to draw a field: expected shades or bands", text)
	}
	*f = Form(i)
	return nil
}

// Scaling is which rows of a sheet share a scale.
type Scaling int

const (
	OneScale         Scaling = iota // all
	ScalePerRow                     // each has its own
	ScaleDifferences                // differences have one of their own
)

var scalings = [...]string{OneScale: "sheet", ScalePerRow: "row", ScaleDifferences: "difference"}

func (s Scaling) String() string { return scalings[s] }
func (Scaling) Type() string     { return "scales" }

// Set reads sheet, row or difference.
func (s *Scaling) Set(text string) error {
	i := slices.Index(scalings[:], text)
	if i < 0 {
		return fmt.Errorf("%q is no choice of scales: expected sheet (one for all), row (one each) or "+
			"difference "+
			"(one for the differences)", text)
	}
	*s = Scaling(i)
	return nil
}

// spread reports whether a showing needs what the values are the means of.
func (s Showing) spread() bool { return s != Amplitudes && s != InterpolationErrors }

// isError reports whether it is an error, in the unit of the values.
func (s Showing) isError() bool {
	return s == StandardErrors || s == InterpolationErrors || s == AllErrors
}

// uncertain reports whether the sheet needs what the values are the means of.
func (s *Sheet) uncertain() bool {
	return s.Shows.spread() || s.Boundary.Errors > 0 && s.Boundary.Of.spread()
}

// agreeing is how many people or epochs there are where agreement counts them:
// all rows have the same number; else zero, and it is a share in %.
func (s *Sheet) agreeing() int {
	if s.Shows != Agreement {
		return 0
	}
	_, n := s.Rows[0].Spread[0].Dims()
	for _, r := range s.Rows {
		for _, spread := range r.Spread {
			if columnsOf(spread) != n {
				return 0
			}
		}
	}
	return n
}

// over is what agreement is over.
func (s *Sheet) over() string {
	if s.Over == "" {
		return "people or epochs"
	}
	return s.Over
}

// oneSided reports whether what is drawn is never negative.
func (s *Sheet) oneSided() bool { return s.Shows == Agreement || s.Shows.isError() }

// tested reports whether what is drawn has a meaning at the electrodes only, so
// that no extreme is taken from between them.
func (s *Sheet) tested() bool { return s.Shows == TValues || s.Statistic != "" }

// creased reports whether what is drawn is not smooth, so that nothing but
// straight lines may run between the nodes of the grid.
func (s *Sheet) creased() bool { return s.Shows == Agreement || s.Shows == InterpolationErrors }

// zeroDrawn reports whether the place where the field is zero has a meaning for
// the eye.
func (s *Sheet) zeroDrawn() bool { return s.Quantity == topo.Potential && !s.oneSided() }

func (s *Sheet) colours() palette.Table {
	p := palettes[s.Palette]
	if s.oneSided() {
		return palette.NewTable(func(v float64) color.RGBA { return p.sequential.At(v) })
	}
	return palette.NewTable(p.signed.At)
}

// views are those of the sheet, from above where none is chosen.
func (s *Sheet) views() []View {
	if len(s.Views) == 0 {
		return []View{Top}
	}
	return s.Views
}

func (s *Sheet) projection(v View) Projection {
	p := SideView(s.Head, v)
	p.Spacing = s.Spacing
	return p
}
