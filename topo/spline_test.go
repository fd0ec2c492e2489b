package topo

import (
	"bufio"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"calotte/layout"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// sixtyFour are the channels of the EEG Motor Movement/Imagery Dataset v1.0.0
// (Schalk et al. 2004), in their order.
const sixtyFour = `FC5 FC3 FC1 FCz FC2 FC4 FC6 C5 C3 C1 Cz C2 C4 C6 CP5 CP3 CP1 CPz CP2 CP4 CP6
	Fp1 Fpz Fp2 AF7 AF3 AFz AF4 AF8 F7 F5 F3 F1 Fz F2 F4 F6 F8 FT7 FT8 T7 T8 T9 T10 TP7 TP8
	P7 P5 P3 P1 Pz P2 P4 P6 P8 PO7 PO3 POz PO4 PO8 O1 Oz O2 Iz`

// radius of the default head, 560 mm around, in cm.
const radius = 56 / (2 * math.Pi)

func place(t testing.TB, names []layout.Name) []layout.Site {
	t.Helper()
	head, err := layout.DefaultHead().Model()
	if err != nil {
		t.Fatal(err)
	}
	placed, err := layout.Place(head, names)
	if err != nil {
		t.Fatal(err)
	}
	return layout.Sites(placed)
}

func sites64(t testing.TB) []layout.Site {
	var names []layout.Name
	for _, n := range strings.Fields(sixtyFour) {
		names = append(names, layout.Name(n))
	}
	return place(t, names)
}

func sites345(t testing.TB) []layout.Site { return place(t, layout.Set1005()) }

func build(t testing.TB, sites []layout.Site, o Options) *Spline {
	t.Helper()
	if o.Radius == 0 {
		o.Radius = radius
	}
	s, err := New(sites, o)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func solve(t testing.TB, s *Spline, amplitudes mat.Matrix) *Coefficients {
	t.Helper()
	c, err := s.Solve(amplitudes)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// white is noise of 10 µV.
func white(rows, columns int) *mat.Dense {
	random := rand.New(rand.NewPCG(7, 11))
	v := mat.NewDense(rows, columns, nil)
	for i := range rows {
		for j := range columns {
			v.Set(i, j, 10*random.NormFloat64())
		}
	}
	return v
}

func positions(sites []layout.Site) []r3.Vec {
	points := make([]r3.Vec, len(sites))
	for i, s := range sites {
		points[i] = s.Position
	}
	return points
}

// spread returns unit vectors evenly over the sphere, on a golden spiral.
func spread(count int) []r3.Vec {
	points := make([]r3.Vec, count)
	for i := range points {
		z := 1 - (2*float64(i)+1)/float64(count)
		angle := math.Pi * (3 - math.Sqrt(5)) * float64(i)
		points[i] = r3.Vec{X: math.Sqrt(1-z*z) * math.Cos(angle), Y: math.Sqrt(1-z*z) * math.Sin(angle), Z: z}
	}
	return points
}

// farthest is the largest absolute difference.
func farthest(a, b mat.Matrix) float64 {
	var d mat.Dense
	d.Sub(a, b)
	return math.Max(mat.Max(&d), -mat.Min(&d))
}

// The file was made by numpy, which places the sites, sums the kernels and solves
// the bordered system on its own; see spline.py.
func TestSplineMatchesNumpy(t *testing.T) {
	f, err := os.Open("../testdata/topo/spline.tsv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines := bufio.NewScanner(f)
	lines.Scan()
	heading := strings.Split(lines.Text(), "\t")
	rows := map[string][]string{}
	for lines.Scan() {
		row := strings.Split(lines.Text(), "\t")
		rows[row[0]] = row
	}
	number := func(site string, column int) float64 {
		v, err := strconv.ParseFloat(rows[site][column], 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}

	everywhere, measured := place(t, layout.Set1010()), sites64(t)
	if len(rows) != len(everywhere) {
		t.Fatalf("the reference has %d sites, layout %d", len(rows), len(everywhere))
	}
	for _, s := range everywhere {
		want := r3.Vec{X: number(s.Name, 1), Y: number(s.Name, 2), Z: number(s.Name, 3)}
		if r3.Norm(r3.Sub(unit(s.Position), want)) > 1e-9 {
			t.Fatalf("site %s lies at %v, in the reference at %v", s.Name, unit(s.Position), want)
		}
	}
	amplitudes := mat.NewVecDense(len(measured), nil)
	for i, s := range measured {
		amplitudes.SetVec(i, number(s.Name, 4))
	}
	for column, o := range map[int]Options{5: {Order: 3}, 7: {Order: 4}, 9: {Order: 5}, 11: {Order: 6}, 13: {Smoothing: 1e-4}} {
		s := build(t, measured, o)
		c := solve(t, s, amplitudes)
		for q := range 2 {
			values := s.Interpolate(positions(everywhere), Quantity(q), c)
			worst := 0.0
			for i, site := range everywhere {
				worst = math.Max(worst, math.Abs(values.At(i, 0)-number(site.Name, column+q)))
			}
			t.Logf("%s: off by %.1e", heading[column+q], worst)
			if worst > 0.001 {
				t.Errorf("%s is off by %.2g, want at most 0.001", heading[column+q], worst)
			}
		}
	}
}

func TestSplinePassesThroughAmplitudes(t *testing.T) {
	for _, c := range []struct {
		sites   []layout.Site
		order   int
		allowed float64 // µV
	}{
		{sites64(t), 3, 1e-6}, {sites64(t), 4, 1e-6}, {sites345(t), 3, 1e-4}, {sites345(t), 4, 1e-4},
	} {
		s := build(t, c.sites, Options{Order: c.order})
		v := white(len(c.sites), 20)
		got := s.Interpolate(positions(c.sites), Potential, solve(t, s, v))
		off := farthest(got, v)
		t.Logf("%d sites, order %d: %.1e µV, condition %.1e", len(c.sites), c.order, off, s.condition)
		if off > c.allowed {
			t.Errorf("%d sites, order %d: residual %.2g µV, want at most %g", len(c.sites), c.order, off, c.allowed)
		}
	}
}

// harmonic is Y_l^m without its norm, m < 0 for the sine.
func harmonic(l, m int, p r3.Vec) float64 {
	order := max(m, -m)
	across := complex(1, 0)
	for k := range order {
		across *= complex(float64(2*k+1), 0) * complex(p.X, p.Y)
	}
	before, now := 0.0, 1.0 // associated Legendre functions over (1−z²)^{m/2}
	for k := order; k < l; k++ {
		before, now = now, (float64(2*k+1)*p.Z*now-float64(k+order)*before)/float64(k-order+1)
	}
	if m < 0 {
		return now * imag(across)
	}
	return now * real(across)
}

// Fields of degree l are known everywhere, and so is their current density:
// l(l+1)/R² times them. Relative errors over the upper half, worst of the orders.
func TestSphericalHarmonics(t *testing.T) {
	for _, c := range []struct {
		sites          []layout.Site
		potential, csd [4]float64
	}{
		{sites64(t), [4]float64{1.2e-5, 7e-4, 6e-3, 1.8e-2}, [4]float64{7e-4, 1.3e-2, 6.5e-2, .13}},
		{sites345(t), [4]float64{1.6e-7, 1.2e-5, 1.2e-4, 4e-4}, [4]float64{2.4e-5, 6e-4, 3e-3, 6e-3}},
	} {
		s := build(t, c.sites, Options{})
		above := spread(8000)[:4000]
		bases := []*mat.Dense{s.Basis(above, Potential), s.Basis(above, CurrentDensity)}
		for l := 1; l <= 4; l++ {
			worst := [2]float64{}
			for m := -l; m <= l; m++ {
				v := mat.NewVecDense(len(c.sites), nil)
				for i, e := range s.units {
					v.SetVec(i, harmonic(l, m, e))
				}
				coefficients := solve(t, s, v)
				truth := mat.NewVecDense(len(above), nil)
				for i, p := range above {
					truth.SetVec(i, harmonic(l, m, p))
				}
				for q, factor := range []float64{1, float64(l*(l+1)) / (radius * radius)} {
					var got, want mat.Dense
					got.Mul(bases[q], coefficients)
					want.Scale(factor, truth)
					got.Sub(&got, &want)
					worst[q] = math.Max(worst[q], mat.Norm(&got, 2)/mat.Norm(&want, 2))
				}
			}
			t.Logf("%d sites, degree %d: potential %.1e, current density %.1e", len(c.sites), l, worst[0], worst[1])
			if worst[0] > 1.5*c.potential[l-1] || worst[1] > 1.5*c.csd[l-1] {
				t.Errorf("%d sites, degree %d: relative errors %.2g and %.2g, want at most 1.5 times %g and %g",
					len(c.sites), l, worst[0], worst[1], c.potential[l-1], c.csd[l-1])
			}
		}
	}
}

func TestConstantsAreReproduced(t *testing.T) {
	s := build(t, sites64(t), Options{})
	v := mat.NewDense(64, 1, nil)
	for i := range 64 {
		v.Set(i, 0, -37.5)
	}
	c := solve(t, s, v)
	values, density := s.Interpolate(spread(500), Potential, c), s.Interpolate(spread(500), CurrentDensity, c)
	for i := range 500 {
		if math.Abs(values.At(i, 0)+37.5) > 1e-9 || math.Abs(density.At(i, 0)) > 1e-9 {
			t.Fatalf("a constant of -37.5 µV became %v µV and %v µV/cm²", values.At(i, 0), density.At(i, 0))
		}
	}
}

func TestSplineTurnsWithTheHead(t *testing.T) {
	sites, points := sites64(t), spread(200)
	v := white(64, 1)
	still := build(t, sites, Options{})
	c := solve(t, still, v)
	rapid.Check(t, func(rt *rapid.T) {
		number := rapid.Float64Range(-1, 1)
		axis := r3.Vec{X: number.Draw(rt, "x"), Y: number.Draw(rt, "y"), Z: 2}
		turn := r3.NewRotation(rapid.Float64Range(-4, 4).Draw(rt, "angle"), axis)
		turned := append([]layout.Site(nil), sites...)
		for i := range turned {
			turned[i].Position = turn.Rotate(sites[i].Position)
		}
		moved := make([]r3.Vec, len(points))
		for i, p := range points {
			moved[i] = turn.Rotate(p)
		}
		s := build(t, turned, Options{})
		for _, q := range []Quantity{Potential, CurrentDensity} {
			if off := farthest(s.Interpolate(moved, q, solve(t, s, v)), still.Interpolate(points, q, c)); off > 1e-6 {
				rt.Fatalf("turning the head moves the %v by %g", q, off)
			}
		}
	})
}

func TestSplineIsLinear(t *testing.T) {
	s, points := build(t, sites64(t), Options{}), spread(200)
	v := white(64, 2)
	parts := s.Interpolate(points, Potential, solve(t, s, v))
	rapid.Check(t, func(rt *rapid.T) {
		a, b := rapid.Float64Range(-5, 5).Draw(rt, "a"), rapid.Float64Range(-5, 5).Draw(rt, "b")
		mix := mat.NewVecDense(2, []float64{a, b})
		var blend, want mat.VecDense
		blend.MulVec(v, mix)
		want.MulVec(parts, mix)
		if off := farthest(s.Interpolate(points, Potential, solve(t, s, &blend)), &want); off > 1e-7 {
			rt.Fatalf("the spline of %g·v + %g·w is off by %g µV", a, b, off)
		}
	})
}

func TestRefusals(t *testing.T) {
	good := sites64(t)
	moved := func(name string, p r3.Vec) []layout.Site {
		sites := append([]layout.Site(nil), good...)
		for i := range sites {
			if sites[i].Name == name {
				sites[i].Position = p
			}
		}
		return sites
	}
	for _, c := range []struct {
		name    string
		sites   []layout.Site
		options Options
		want    string
	}{
		{"three sites", good[:3], Options{Radius: radius}, "3 sites: a spline needs at least 4"},
		{"order 2", good, Options{Order: 2, Radius: radius}, "spline order 2: expected 3 to 6"},
		{"order 7", good, Options{Order: 7, Radius: radius}, "spline order 7: expected 3 to 6"},
		{"smoothing", good, Options{Smoothing: -1, Radius: radius}, "spline smoothing -1"},
		{"smoothing NaN", good, Options{Smoothing: math.NaN(), Radius: radius}, "spline smoothing NaN"},
		{"no radius", good, Options{}, "head radius 0 cm"},
		{"centre", moved("Cz", r3.Vec{}), Options{Radius: radius}, `site "Cz" is at {0 0 0}`},
		{"infinite", moved("Pz", r3.Vec{X: math.Inf(1)}), Options{Radius: radius}, `site "Pz"`},
		{"NaN", moved("Pz", r3.Vec{Y: math.NaN()}), Options{Radius: radius}, `site "Pz"`},
		{"twice", moved("P7", r3.Scale(1.1, good[0].Position)), Options{Radius: radius}, `sites "FC5" and "P7" are at one place`},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, err := New(c.sites, c.options); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want an error with %q", err, c.want)
			}
		})
	}
}

func TestSolveRefusals(t *testing.T) {
	s := build(t, sites64(t), Options{})
	hole := white(64, 3)
	hole.Set(10, 2, math.NaN())
	near := sites64(t)
	near[5].Position = r3.Add(near[4].Position, r3.Vec{X: 1e-3})
	for _, c := range []struct {
		name       string
		spline     *Spline
		amplitudes mat.Matrix
		want       string
	}{
		{"rows", s, white(63, 1), "amplitudes of 63 sites for a spline of 64"},
		{"NaN", s, hole, `site "Cz" has amplitude NaN in column 3`},
		{"pair", build(t, near, Options{Order: 5}), white(64, 1), `"FC2" and "FC4", are 0.00093 mm apart: use an order below 5 or smoothing above 0`},
		{"lowest order", build(t, near, Options{Order: 3}), mat.NewDense(64, 1, append(make([]float64, 63), 1e6)), "apart: use smoothing above 0"},
		{"345 sites", build(t, sites345(t), Options{Order: 6}), white(345, 1), "rounding may move a spline of order 6 through these 345 sites by"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := c.spline.Solve(c.amplitudes)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want an error with %q", err, c.want)
			}
			t.Log(err)
		})
	}
}

// The remedies that an error offers must work.
func TestRemedies(t *testing.T) {
	for _, o := range []Options{{Order: 4}, {Order: 6, Smoothing: 1e-6}} {
		s := build(t, sites345(t), o)
		if _, err := s.Solve(white(345, 1)); err != nil {
			t.Errorf("order %d, smoothing %g: %v", o.Order, o.Smoothing, err)
		}
	}
}

func TestBasisAtTheEdges(t *testing.T) {
	s := build(t, sites64(t), Options{})
	if rows, columns := s.Basis(nil, Potential).Dims(); rows != 0 || columns != 0 {
		t.Errorf("no points give %d × %d, want 0 × 0", rows, columns)
	}
	if v := s.Basis([]r3.Vec{{}}, Potential).At(0, 0); !math.IsNaN(v) {
		t.Errorf("the centre of the head gives %v, want NaN", v)
	}
	near, far := s.Basis([]r3.Vec{{X: 1, Y: 2, Z: 3}}, Potential), s.Basis([]r3.Vec{{X: 20, Y: 40, Z: 60}}, Potential)
	if off := farthest(near, far); off > 1e-15 {
		t.Errorf("a point's distance from the centre changes the basis by %g", off)
	}
}

func ExampleSpline_Solve() {
	head, _ := layout.DefaultHead().Model()
	placed, _ := layout.Place(head, layout.Set1020())
	sites := layout.Sites(placed)
	spline, err := New(sites, Options{Radius: layout.DefaultHead().Radius() / 10})
	if err != nil {
		fmt.Println(err)
		return
	}
	// 1 µV for each cm to the right: largest at T8.
	amplitudes := mat.NewDense(len(sites), 1, nil)
	for i, s := range sites {
		amplitudes.Set(i, 0, s.Position.X/10)
	}
	c, err := spline.Solve(amplitudes)
	if err != nil {
		fmt.Println(err)
		return
	}
	right := []r3.Vec{{X: 1}}
	fmt.Printf("%.2f µV, %.3f µV/cm²\n", spline.Interpolate(right, Potential, c).At(0, 0),
		spline.Interpolate(right, CurrentDensity, c).At(0, 0))
	// Output: 8.91 µV, 0.225 µV/cm²
}
