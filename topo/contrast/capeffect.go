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
	capSlide   = 5.                // mm
	capTwist   = 3 * math.Pi / 180 // about the vertical, where Cz does not slide
	capStretch = 1.                // mm
)

// A field is a spline with what it was solved for.
type field struct {
	spline       *topo.Spline
	coefficients *topo.Coefficients
	sites        []layout.Site
}

var errNoSpline = errors.New("a spline through the sites is needed, which says what a crooked cap would read")

// field solves for amplitudes at the sites of an average.
func (s Sides) field(sites []string, amplitudes mat.Matrix) (*field, error) {
	if s.Spline == nil {
		return nil, errNoSpline
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

// at are the coefficients of one latency.
func (f *field) at(column int) *topo.Coefficients {
	rows, _ := f.coefficients.Dims()
	return &topo.Coefficients{Dense: f.coefficients.Slice(0, rows, column, column+1).(*mat.Dense)}
}

// mirrored reads the spline where a pair would sit if its sites mirrored each
// other exactly: at the middle between the right one and the left one's mirror
// image, and at the mirror image of that.
func (f *field) mirrored(p SidePair, column int) float64 {
	sum := 0.
	for k, left := range p.Left.Rows {
		middle := r3.Scale(.5, r3.Add(f.sites[p.Right.Rows[k]].Position, mirror(f.sites[left].Position)))
		values := f.spline.Interpolate([]r3.Vec{middle, mirror(middle)}, topo.Potential, f.coefficients)
		sum += values.At(0, column) - values.At(1, column)
	}
	return sum / float64(len(p.Left.Rows))
}

func mirror(p r3.Vec) r3.Vec { return r3.Vec{X: -p.X, Y: p.Y, Z: p.Z} }

// capEffect asks the spline what a cap that sat otherwise would have read.
func (s Sides) capEffect(a Asymmetry, f *field, p SidePair, column int) CapEffect {
	radius, reading, c := f.spline.Radius(), p.Reading(f.sites), f.at(column)
	moves := []func(r3.Vec) r3.Vec{
		Turned(CapToSide.Turn(capSlide / radius)), Turned(CapForward.Turn(capSlide / radius)),
		Turned(CapTwisted.Turn(capTwist)), Stretched(capStretch / radius),
	}
	if s.Cap != nil {
		moves = append(moves, Turned(r3.Scale(-1, *s.Cap)))
	}
	changes := reading.changes(f.spline, c, moves).RawMatrix().Data
	e := CapEffect{ToSide: changes[0], Forward: changes[1], Twisted: changes[2], Stretched: changes[3],
		Mirrored: math.NaN(), Checked: math.NaN()}
	search := newTurnSearch(f.spline, c, reading)
	e.PerMillimetre = r3.Norm(search.gradient(r3.Vec{})) / radius
	e.Explains = search.satTurned(-a.Difference)
	e.Touches = noTurn
	if a.Low > 0 {
		e.Touches = search.satTurned(-a.Low)
	} else if a.High < 0 {
		e.Touches = search.satTurned(-a.High)
	}
	if s.Digitised {
		e.Mirrored = f.mirrored(p, column)
	}
	if s.Cap != nil {
		e.Checked = changes[len(changes)-1]
	}
	return e
}
