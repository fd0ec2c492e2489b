package render

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/topo"
)

// sixtyFour are the sites of a common cap: the ring and all within it at tenths
// and quarters, with T9, T10 and Iz.
var sixtyFour = []layout.Name{
	"Fp1", "Fpz", "Fp2", "AF7", "AF3", "AFz", "AF4", "AF8",
	"F7", "F5", "F3", "F1", "Fz", "F2", "F4", "F6", "F8",
	"FT7", "FC5", "FC3", "FC1", "FCz", "FC2", "FC4", "FC6", "FT8",
	"T9", "T7", "C5", "C3", "C1", "Cz", "C2", "C4", "C6", "T8", "T10",
	"TP7", "CP5", "CP3", "CP1", "CPz", "CP2", "CP4", "CP6", "TP8",
	"P7", "P5", "P3", "P1", "Pz", "P2", "P4", "P6", "P8",
	"PO7", "PO3", "POz", "PO4", "PO8", "O1", "Oz", "O2", "Iz",
}

func splineOf(t testing.TB, sites []layout.Site) *topo.Spline {
	t.Helper()
	s, err := topo.New(sites, topo.Options{Radius: 89.127})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// dipole is the potential on the unit sphere of a current dipole inside, up to
// a factor (methods: homogeneous sphere).
func dipole(r, at, moment r3.Vec) float64 {
	d := r3.Sub(r, at)
	distance := r3.Norm(d)
	return r3.Dot(moment, r3.Add(r3.Scale(2/math.Pow(distance, 3), d),
		r3.Scale(1/(1-r3.Dot(r, at)+distance), r3.Add(r, r3.Scale(1/distance, d)))))
}

// amplitudes are what a pair of occipital sources of unequal strength and a
// deep central one give at the sites, a column for each latency.
func amplitudes(sites []layout.Site, columns int) *mat.Dense {
	v := mat.NewDense(len(sites), columns, nil)
	for i, s := range sites {
		r := r3.Unit(s.Position)
		for c := range columns {
			time := float64(c+1) / float64(columns)
			v.Set(i, c, -.6*(1-.6*time)*(1.4*dipole(r, r3.Vec{X: .45, Y: -.5, Z: -.1}, r3.Vec{X: .6, Y: -.7, Z: -.2})+
				dipole(r, r3.Vec{X: -.45, Y: -.5, Z: -.1}, r3.Vec{X: -.6, Y: -.7, Z: -.2}))+
				time*dipole(r, r3.Vec{Y: -.1, Z: .4}, r3.Vec{Y: -.3, Z: 1}))
		}
	}
	return v
}

// The interpolated surface departs from the spline by at most 0.1 % of the
// scale, for sources at a depth that brains have and for white noise, the
// roughest that sites can carry. The exception is the current density of white
// noise at 345 sites, where electrodes of the outermost rows stand 5 mm apart.
func TestFieldAgainstSpline(t *testing.T) {
	for _, c := range []struct {
		name  string
		names []layout.Name
	}{{"64 sites", sixtyFour}, {"345 sites", layout.Set1005()}} {
		for _, q := range []topo.Quantity{topo.Potential, topo.CurrentDensity} {
			t.Run(c.name+" "+q.String(), func(t *testing.T) {
				sites := place(t, layout.Sphere(89.127), c.names)
				spline := splineOf(t, sites)
				values := amplitudes(sites, 2)
				random := rand.New(rand.NewPCG(1, 2))
				for i := range sites {
					values.Set(i, 1, random.NormFloat64())
				}
				s := Sheet{Rows: []Row{{Spline: spline, Values: values}}, Columns: make([]string, 2), Quantity: q}
				solved, err := s.solve(spline, []int{0})
				if err != nil {
					t.Fatal(err)
				}
				panels, err := s.panelsOf(s.grids()[0], spline, solved)
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
						worst = max(worst, math.Abs(panels[column].field.At(p)-want.At(i, column)))
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
			points, directions = append(points, p), append(directions, onDisc.Direction(p))
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
	r := newRows(f, xs)
	for _, y := range []float64{-.4, 0, .31} {
		r.moveTo(y)
		for i, x := range xs {
			if d := math.Abs(r.at(i) - f.At(r2.Vec{X: x, Y: y})); d > 1e-14 {
				t.Errorf("at (%g, %g) the two ways differ by %g", x, y, d)
			}
		}
	}
}

func BenchmarkBasis(b *testing.B) {
	sites := place(b, layout.Sphere(89.127), sixtyFour)
	spline := splineOf(b, sites)
	g := newGrid(onDisc, fewCells)
	for b.Loop() {
		spline.Basis(g.directions, topo.Potential)
	}
}
