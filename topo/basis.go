package topo

import (
	"runtime"
	"slices"
	"sync"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
)

// A Quantity is what a spline is evaluated for.
type Quantity int

const (
	Potential      Quantity = iota // µV
	CurrentDensity                 // µV/cm², positive at a source
)

// String returns "potential" or "current density".
func (q Quantity) String() string {
	if q == CurrentDensity {
		return "current density"
	}
	return "potential"
}

// Sites are those that the spline goes through, in the order of its amplitudes.
func (s *Spline) Sites() []layout.Site { return slices.Clone(s.sites) }

// Radius is that of the head, in mm.
func (s *Spline) Radius() float64 { return s.options.Radius }

// Basis returns the matrix, points × (sites+1), that turns Coefficients into
// values at the points. Its last column belongs to the constant: 1 for
// Potential, 0 for CurrentDensity. Points may have any length: they are
// projected onto the unit sphere. A point at the centre or not finite gives a
// row of NaN.
//
// Rows are shared among the CPUs; the result is the same for any number of
// them.
func (s *Spline) Basis(points []r3.Vec, q Quantity) *mat.Dense {
	if len(points) == 0 {
		return &mat.Dense{}
	}
	n := len(s.sites)
	t, scale, level := tables[s.options.Order](), 1.0, 1.0
	if q == CurrentDensity {
		r := s.options.Radius / 10 // cm
		t, scale, level = tables[s.options.Order-1](), 1/(r*r), 0
	}
	basis := mat.NewDense(len(points), n+1, nil)
	share(len(points), func(i int) {
		row := basis.RawRowView(i)
		kernelRow(row[:n], unit(points[i]), s.units, t)
		if scale != 1 {
			for j := range row[:n] {
				row[j] *= scale
			}
		}
		row[n] = level
	})
	return basis
}

// Interpolate returns the values, points × columns, of the coefficients that
// this spline's Solve returned.
func (s *Spline) Interpolate(points []r3.Vec, q Quantity, c *Coefficients) *mat.Dense {
	values := &mat.Dense{}
	if len(points) > 0 {
		values.Mul(s.Basis(points, q), c)
	}
	return values
}

// share calls do for 0…count−1, each index once, in one run of indices a CPU.
func share(count int, do func(i int)) {
	workers := min(runtime.GOMAXPROCS(0), count)
	var group sync.WaitGroup
	for w := range workers {
		group.Go(func() {
			for i := w * count / workers; i < (w+1)*count/workers; i++ {
				do(i)
			}
		})
	}
	group.Wait()
}

// Among is the spline of the same options through some of the sites, by their
// index.
func (s *Spline) Among(sites []int) (*Spline, error) {
	var some []layout.Site
	for _, i := range sites {
		some = append(some, s.sites[i])
	}
	return New(some, s.options)
}
