package contrast

import (
	"errors"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/topo"
)

const (
	capSlide = 5.                // mm
	capTwist = 3 * math.Pi / 180 // about the vertical, where Cz does not slide
	// beyondLinear is how far, in mm, the change is not taken to grow in
	// proportion.
	beyondLinear = 15.
)

// A field is a spline with what it was solved for.
type field struct {
	spline       *topo.Spline
	coefficients *topo.Coefficients
	sites        []layout.Site
}

// field solves for amplitudes at the sites of an average.
func (s Sides) field(sites []string, amplitudes mat.Matrix) (*field, error) {
	if s.Spline == nil {
		return nil, errors.New("a spline through the sites is needed, which says what a crooked cap would read")
	}
	f := &field{spline: s.Spline, sites: s.Spline.Sites()}
	if !slices.EqualFunc(f.sites, sites, func(s layout.Site, name string) bool { return s.Name == name }) {
		return nil, errors.New("the spline goes through other sites than those of the average: make it " +
			"from these, " +
			"in their order")
	}
	var err error
	f.coefficients, err = s.Spline.Solve(amplitudes)
	return f, err
}

// change is by how much a pair would change, at a latency, had its sites been
// elsewhere.
func (f *field) change(p layout.Pair, column int, moved func(r3.Vec) r3.Vec) float64 {
	return CapChange(f.spline, f.coefficients, f.sites[p.Left].Position, f.sites[p.Right].Position, moved)[column]
}

// mirrored reads the spline where the pair would sit if its sites mirrored each
// other exactly: at the middle between the right one and the left one's mirror
// image, and at the mirror image of that.
func (f *field) mirrored(p layout.Pair, column int) float64 {
	middle := r3.Scale(.5, r3.Add(f.sites[p.Right].Position, mirror(f.sites[p.Left].Position)))
	values := f.spline.Interpolate([]r3.Vec{middle, mirror(middle)}, topo.Potential, f.coefficients)
	return values.At(0, column) - values.At(1, column)
}

func mirror(p r3.Vec) r3.Vec { return r3.Vec{X: -p.X, Y: p.Y, Z: p.Z} }

// capEffect asks the spline what a cap that sat otherwise would have read.
func (s Sides) capEffect(a Asymmetry, f *field, p layout.Pair, column int) CapEffect {
	radius := f.spline.Radius()
	change := func(m CapMove, angle float64) float64 {
		return f.change(p, column, func(site r3.Vec) r3.Vec { return m.Moved(site, angle) })
	}
	nan := math.NaN()
	e := CapEffect{
		ToSide: change(CapToSide, capSlide/radius), Forward: change(CapForward, capSlide/radius),
		Twisted: change(CapTwisted, capTwist),
		Touches: nan, Explains: nan, Mirrored: nan, Checked: nan,
	}
	slope := (change(CapToSide, 1/radius) - change(CapToSide, -1/radius)) / 2 // µV/mm
	if slope != 0 {
		e.Explains = -a.Difference / slope
		if a.Low > 0 {
			e.Touches = -a.Low / slope
		} else if a.High < 0 {
			e.Touches = -a.High / slope
		}
	}
	if s.Digitised {
		e.Mirrored = f.mirrored(p, column)
	}
	if s.Cap != nil {
		e.Checked = f.change(p, column, Turned(r3.Scale(-1, *s.Cap)))
	}
	return e
}
