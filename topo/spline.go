package topo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sync"

	"calotte/layout"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

const (
	defaultOrder = 4
	lowestOrder  = 3
	highestOrder = 6

	fewestSites = 4

	// leastRadius, in mm, is below that of any head and above that of any
	// in cm.
	leastRadius = 30

	// together is the distance on the unit sphere below which two sites are
	// one place: 0.1 µm on a head.
	together = 1e-6
)

// Options says which spline to build.
type Options struct {
	Order     int     // m, 3 to 6; 0 means 4
	Smoothing float64 // λ ≥ 0, added to g(1); 0 passes through every amplitude
	Radius    float64 // of the head, circumference ÷ 2π, in mm; needed
}

// A Spline is ready to interpolate any amplitudes at its sites. It does not
// change and may be used from several goroutines.
type Spline struct {
	sites   []layout.Site
	units   []r3.Vec // sites on the unit sphere
	options Options

	factor    mat.Cholesky // of G + λI + τ11ᵀ, see New
	condition float64      // its condition number, +Inf where it has no factor
	ones      *mat.VecDense
	total     float64                    // 1ᵀ(G + λI + τ11ᵀ)⁻¹1
	inverse   func() (*mat.Dense, error) // see operator
	contrasts func() (*contrasts, error) // see newContrasts
}

// New prepares the spline through the sites. Positions may have any length:
// they are projected onto the unit sphere.
//
// Adding τ11ᵀ to G changes neither c nor the current density, as 1ᵀc = 0, and
// makes the bordered system positive definite even where the sites fit all the
// low harmonics. With K = G + λI + τ11ᵀ, c₀ = 1ᵀK⁻¹v / 1ᵀK⁻¹1 and c = K⁻¹(v −
// c₀1), from one Cholesky factor. τ = g(1)/3 gives the constant the eigenvalue
// of a harmonic of degree 1, so the condition does not suffer.
func New(sites []layout.Site, o Options) (*Spline, error) {
	if o.Order == 0 {
		o.Order = defaultOrder
	}
	if err := o.validate(); err != nil {
		return nil, err
	}
	units, err := project(sites)
	if err != nil {
		return nil, err
	}
	s := &Spline{sites: append([]layout.Site(nil), sites...), units: units, options: o}
	s.solver()
	s.inverse = sync.OnceValues(s.operator)
	s.contrasts = sync.OnceValues(s.newContrasts)
	return s, nil
}

func (o Options) validate() error {
	switch {
	case o.Order < lowestOrder || o.Order > highestOrder:
		return fmt.Errorf("spline order %d: expected %d to %d", o.Order, lowestOrder, highestOrder)
	case !(o.Smoothing >= 0) || math.IsInf(o.Smoothing, 0):
		return fmt.Errorf("spline smoothing %g: expected 0 or a positive number", o.Smoothing)
	case !(o.Radius > 0) || math.IsInf(o.Radius, 0):
		return fmt.Errorf("head radius %g mm: expected more than 0: give the head's circumference ÷ 2π",
			o.Radius)
	case o.Radius < leastRadius:
		return fmt.Errorf("head radius %g mm is not a head's: is it %g cm?", o.Radius, o.Radius)
	}
	return nil
}

// project returns the sites on the unit sphere.
func project(sites []layout.Site) ([]r3.Vec, error) {
	if len(sites) < fewestSites {
		return nil, fmt.Errorf("%d sites: a spline needs at least %d", len(sites), fewestSites)
	}
	units := make([]r3.Vec, len(sites))
	for i, site := range sites {
		units[i] = unit(site.Position)
		if !(math.Abs(r3.Norm(units[i])-1) < together) {
			return nil, fmt.Errorf("site %q is at %v: expected a finite position away from the centre: "+
				"correct it or "+
				"leave the site out", site.Name, site.Position)
		}
	}
	if i, j := closest(units); r3.Norm(r3.Sub(units[i], units[j])) < together {
		return nil, fmt.Errorf("sites %q and %q are at one place: keep one of them or correct a position",
			sites[i].Name, sites[j].Name)
	}
	return units, nil
}

// unit projects a position onto the unit sphere; the centre and positions that
// are not finite become NaN.
func unit(p r3.Vec) r3.Vec {
	return r3.Scale(1/r3.Norm(p), p)
}

// closest returns the pair of points with the least distance.
func closest(points []r3.Vec) (first, second int) {
	least := math.Inf(1)
	for i, p := range points {
		for j, q := range points[:i] {
			if d := r3.Norm2(r3.Sub(p, q)); d < least {
				least, first, second = d, j, i
			}
		}
	}
	return first, second
}

// solver factorises K of New.
func (s *Spline) solver() {
	n := len(s.units)
	g := tables[s.options.Order]()
	shift := g.top / 3
	k := mat.NewSymDense(n, nil)
	row := make([]float64, n)
	for i, e := range s.units {
		kernelRow(row[:i+1], e, s.units, g)
		for j, value := range row[:i+1] {
			k.SetSym(i, j, value+shift)
		}
		k.SetSym(i, i, row[i]+shift+s.options.Smoothing)
	}
	s.condition = math.Inf(1)
	if !s.factor.Factorize(k) {
		return
	}
	s.condition = condition(k, &s.factor)
	s.ones = constant(n)
	if err := s.factor.SolveVecTo(s.ones, s.ones); err != nil {
		s.condition = math.Inf(1)
		return
	}
	s.total = mat.Sum(s.ones)
}

// condition estimates the 2-norm condition number of k, its largest eigenvalue
// over its least, by iterating with k and with its inverse. The estimates never
// exceed the truth and reach it within a few per cent: neighbouring eigenvalues
// serve as well as the extreme ones.
func condition(k mat.Matrix, factor *mat.Cholesky) float64 {
	const rounds = 12
	n, _ := k.Dims()
	random := rand.New(rand.NewPCG(1, uint64(n)))
	up, down := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
	for i := range n {
		up.SetVec(i, random.NormFloat64())
		down.SetVec(i, random.NormFloat64())
	}
	largest, least := 0.0, 0.0
	for range rounds {
		up.ScaleVec(1/mat.Norm(up, 2), up)
		down.ScaleVec(1/mat.Norm(down, 2), down)
		up.MulVec(k, up)
		if err := factor.SolveVecTo(down, down); err != nil {
			return math.Inf(1) // singular to working precision
		}
		largest, least = mat.Norm(up, 2), 1/mat.Norm(down, 2)
	}
	return largest / least
}

func constant(n int) *mat.VecDense {
	v := mat.NewVecDense(n, nil)
	for i := range n {
		v.SetVec(i, 1)
	}
	return v
}

// kernelRow fills row with the kernel between p and the first sites, all on the
// unit sphere. New and Basis both come here, so that values at a site meet the
// very entries that were solved for.
func kernelRow(row []float64, p r3.Vec, units []r3.Vec, t *table) {
	for i := range row {
		e := &units[i]
		row[i] = p.X*e.X + p.Y*e.Y + p.Z*e.Z
	}
	t.evaluate(row)
}
