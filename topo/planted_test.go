package topo_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/topo"
	"calotte/topo/erp"
	"calotte/topo/erp/montage"
	"calotte/topo/forward"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording/event"
	"calotte/topo/unit"
)

// sixtyFour are the channels of the open recordings.
var sixtyFour = strings.Fields(`FC5 FC3 FC1 FCz FC2 FC4 FC6 C5 C3 C1 Cz C2 C4 C6 CP5 CP3 CP1 CPz CP2 CP4 CP6
	Fp1 Fpz Fp2 AF7 AF3 AFz AF4 AF8 F7 F5 F3 F1 Fz F2 F4 F6 F8 FT7 FT8 T7 T8 T9 T10 TP7 TP8
	P7 P5 P3 P1 Pz P2 P4 P6 P8 PO7 PO3 POz PO4 PO8 O1 Oz O2 Iz`)

// A field is amplitudes in µV at sites, sites × latencies.
type field struct {
	sites  []layout.Site
	values *mat.Dense
}

// openAverages are three of one person in the open recordings: of 30, 16 and 14
// epochs, every 20 ms from 0 to 800 ms.
func openAverages(tb testing.TB) []field {
	tb.Helper()
	once.Do(func() { averaged = average(tb) })
	if averaged == nil {
		tb.Skip("no open recordings")
	}
	return averaged
}

var (
	once     sync.Once
	averaged []field
)

func average(tb testing.TB) []field {
	recs := erptest.OpenRecordings(tb, "S001R03.edf", "S001R04.edf")
	p := &erp.Pipeline{
		Conditions: []erp.Condition{{Name: "rest", Events: event.Labels("T0")},
			{Name: "left", Events: event.Labels("T1")}, {Name: "right", Events: event.Labels("T2")}},
		Epoch: unit.Span{From: -0.2, To: 0.8}, Baseline: &unit.Span{From: -0.2, To: 0},
		Reference: montage.AverageReference,
	}
	var inputs []erp.Input
	for _, rec := range recs {
		inputs = append(inputs, erp.Input{Recording: rec})
	}
	run, err := p.Run(tb.Context(), inputs...)
	if err != nil {
		tb.Fatal(err)
	}
	averages, err := run.Averages("sub-01")
	if err != nil {
		tb.Fatal(err)
	}
	var fields []field
	for _, a := range averages {
		f := field{sites: ideal(tb, a.Sites)}
		var at []int
		for k, t := range a.Times {
			if t >= .02*float64(len(at))-1e-9 && len(at) < 41 {
				at = append(at, k)
			}
		}
		f.values = mat.NewDense(len(a.Sites), len(at), nil)
		for i, row := range a.Mean {
			for j, k := range at {
				f.values.Set(i, j, row[k])
			}
		}
		fields = append(fields, f)
	}
	return fields
}

// ideal are sites of the 10-10 system on the sphere.
func ideal(tb testing.TB, written []string) []layout.Site {
	tb.Helper()
	var names []layout.Name
	for _, name := range written {
		parsed, err := layout.Parse(name)
		if err != nil {
			tb.Fatal(err)
		}
		names = append(names, parsed)
	}
	return erptest.Placed(tb, names)
}

// split parts the rows that are known from the rest.
func (f field) split(known []int) (seen, unseen field) {
	var rest []int
	for i := range f.sites {
		if !slices.Contains(known, i) {
			rest = append(rest, i)
		}
	}
	return f.rows(known), f.rows(rest)
}

func (f field) rows(indices []int) field {
	_, columns := f.values.Dims()
	part := field{values: mat.NewDense(len(indices), columns, nil)}
	for to, from := range indices {
		part.sites = append(part.sites, f.sites[from])
		part.values.SetRow(to, f.values.RawRowView(from))
	}
	return part
}

func (f field) positions() []r3.Vec {
	var out []r3.Vec
	for _, s := range f.sites {
		out = append(out, s.Position)
	}
	return out
}

// some are count of sites drawn by lot, in order.
func some(random *rand.Rand, of, count int) []int {
	chosen := random.Perm(of)[:count]
	slices.Sort(chosen)
	return chosen
}

// spline is through a field's sites, and its coefficients.
func (f field) spline(tb testing.TB, o topo.Options) (*topo.Spline, *topo.Coefficients) {
	tb.Helper()
	o.Radius = erptest.HeadRadius
	s, err := topo.New(f.sites, o)
	if err != nil {
		tb.Fatal(err)
	}
	c, err := s.Solve(f.values)
	if err != nil {
		tb.Fatal(err)
	}
	return s, c
}

// A source of random fields with the kernel k₂ at sites. The kernel is summed
// apart from the package's tables.
type source struct {
	sites []layout.Site
	root  mat.TriDense
}

func newSource(tb testing.TB, sites []layout.Site) *source {
	tb.Helper()
	k := mat.NewSymDense(len(sites), nil)
	for i, a := range sites {
		for j, b := range sites[:i+1] {
			x := r3.Dot(r3.Unit(a.Position), r3.Unit(b.Position))
			li := real(mathext.Li2(complex(min(1, (1+x)/2), 0)))
			k.SetSym(i, j, (li+1-math.Pi*math.Pi/6)/(4*math.Pi))
		}
		k.SetSym(i, i, k.At(i, i)+1e-12)
	}
	var factor mat.Cholesky
	if !factor.Factorize(k) {
		tb.Fatal("the kernel has no factor")
	}
	s := &source{sites: sites}
	factor.LTo(&s.root)
	return s
}

// draw is fields with σ = 10 µV, and noise of the given
// standard deviation in µV at each site. At one place the field itself varies
// by 10/√4π = 2.8 µV.
func (s *source) draw(random *rand.Rand, columns int, noise float64) field {
	f := field{s.sites, mat.NewDense(len(s.sites), columns, nil)}
	z := mat.NewDense(len(s.sites), columns, nil)
	z.Apply(func(_, _ int, _ float64) float64 { return 10 * random.NormFloat64() }, z)
	f.values.Mul(&s.root, z)
	f.values.Apply(func(_, _ int, v float64) float64 { return v + noise*random.NormFloat64() }, f.values)
	return f
}

// dipoles are potentials of some dipoles in the upper half of the four shells,
// at one distance from the centre over the head's radius.
func dipoles(tb testing.TB, random *rand.Rand, sites []layout.Site, columns, count int, eccentricity float64) field {
	tb.Helper()
	f := field{sites, mat.NewDense(len(sites), columns, nil)}
	sphere := forward.FourShells(erptest.HeadRadius)
	normal := func() r3.Vec {
		return r3.Vec{X: random.NormFloat64(), Y: random.NormFloat64(), Z: random.NormFloat64()}
	}
	for j := range columns {
		var sources []forward.Dipole
		for range count {
			where := normal()
			where.Z = math.Abs(where.Z)
			sources = append(sources, forward.Dipole{Moment: r3.Scale(10, normal()),
				Position: r3.Scale(eccentricity*erptest.HeadRadius, r3.Unit(where))})
		}
		v, err := sphere.Potentials(sources, f.positions())
		if err != nil {
			tb.Fatal(err)
		}
		for i := range sites {
			f.values.Set(i, j, mat.Sum(v.RowView(i)))
		}
	}
	return f
}

// A tally counts how often something happened.
type tally struct{ hits, of int }

func (t *tally) count(hit bool) {
	t.of++
	if hit {
		t.hits++
	}
}

func (t *tally) add(o tally) {
	t.hits += o.hits
	t.of += o.of
}

func (t tally) share() float64 { return float64(t.hits) / float64(max(1, t.of)) }
