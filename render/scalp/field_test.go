package scalp

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/internal/figtest"
	"calotte/topo"
)

// The interpolated surface departs from the spline by at most 0.1 % of the
// scale, for sources at a depth that brains have and for white noise, the
// roughest that sites can carry. The exception is the current density of white
// noise at 345 sites, where electrodes of the outermost rows stand 5 mm apart.
func TestFieldAgainstSpline(t *testing.T) {
	for _, c := range []struct {
		name  string
		names []layout.Name
	}{{"64 sites", figtest.SixtyFour}, {"345 sites", layout.Set1005()}} {
		for _, q := range []topo.Quantity{topo.Potential, topo.CurrentDensity} {
			t.Run(c.name+" "+q.String(), func(t *testing.T) {
				sites := figtest.Place(t, head.Sphere(89.127), c.names)
				spline := figtest.SplineOf(t, sites)
				values := figtest.Amplitudes(sites, 2)
				random := rand.New(rand.NewPCG(1, 2))
				for i := range sites {
					values.Set(i, 1, random.NormFloat64())
				}
				s := Sheet{Rows: []Row{{Spline: spline, Values: values}}, Columns: make([]string, 2),
					Quantity: q}
				panels, _, err := s.panels(s.Grids())
				if err != nil {
					t.Fatal(err)
				}
				points, directions := randomDisc(random, 2000)
				coefficients, err := spline.Solve(values)
				if err != nil {
					t.Fatal(err)
				}
				want := spline.Interpolate(directions, q, coefficients)
				for column, kind := range []string{"sources", "white"} {
					limit, worst := 0., 0.
					for i, p := range points {
						limit = max(limit, math.Abs(want.At(i, column)))
						worst = max(worst, math.Abs(panels[column].field.At(p)-want.At(i,
							column)))
					}
					t.Logf("%s: %.4f %% of the scale", kind, 100*worst/limit)
					allowed := .001
					if q == topo.CurrentDensity && len(sites) > fewSites && kind == "white" {
						allowed = .005
					}
					if worst > allowed*limit {
						t.Errorf("%s: off by %.3f %% of the scale", kind, 100*worst/limit)
					}
				}
			})
		}
	}
}

func randomDisc(random *rand.Rand, n int) (points []r2.Vec, directions []r3.Vec) {
	for len(points) < n {
		p := r2.Vec{X: 2*random.Float64() - 1, Y: 2*random.Float64() - 1}
		if r2.Norm(p) <= 1 {
			points, directions = append(points, p), append(directions, OnDisc.Direction(p))
		}
	}
	return points, directions
}

// Cubics with slopes from the fourth-order difference reproduce cubic
// polynomials.
func TestFieldReproducesCubics(t *testing.T) {
	cubic := func(p r2.Vec) float64 {
		return 1 + p.X - 2*p.Y + p.X*p.Y + 3*p.X*p.X*p.X - p.X*p.Y*p.Y*p.Y
	}
	f := sampled(cubic)
	points, _ := randomDisc(rand.New(rand.NewPCG(3, 4)), 500)
	for _, p := range points {
		if d := math.Abs(f.At(p) - cubic(p)); d > 1e-12 {
			t.Fatalf("at %v off by %g", p, d)
		}
	}
}

func TestRowsEqualPoints(t *testing.T) {
	f := sampled(func(p r2.Vec) float64 { return math.Sin(4*p.X + p.Y*p.Y) })
	xs := []float64{-.9, -.123, 0, .5, .77}
	r := NewRows(f, xs)
	for _, y := range []float64{-.4, 0, .31} {
		r.MoveTo(y)
		for i, x := range xs {
			if d := math.Abs(r.At(i) - f.At(r2.Vec{X: x, Y: y})); d > 1e-14 {
				t.Errorf("at (%g, %g) the two ways differ by %g", x, y, d)
			}
		}
	}
}

func BenchmarkBasis(b *testing.B) {
	sites := figtest.Place(b, head.Sphere(89.127), figtest.SixtyFour)
	spline := figtest.SplineOf(b, sites)
	g := newGrid(OnDisc, fewCells)
	for b.Loop() {
		spline.Basis(g.Directions, topo.Potential)
	}
}
