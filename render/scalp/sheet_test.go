package scalp

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot/vg"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/internal/figtest"
	"calotte/topo"
)

// demoSheet is a sheet of invented maps of the named sites.
func demoSheet(t testing.TB, names []layout.Name, rows, columns int) *Sheet {
	t.Helper()
	sites := figtest.Place(t, head.Sphere(89.127), names)
	spline := figtest.SplineOf(t, sites)
	known := figtest.Amplitudes(sites, columns)
	novel := mat.DenseCopyOf(known)
	novel.Scale(.7, novel)
	difference := mat.DenseCopyOf(known)
	difference.Sub(known, novel)
	s := &Sheet{Name: "Signal flags", Reference: fmt.Sprintf("average of %d sites", len(sites)), Synthetic: true}
	for c := range columns {
		s.Columns = append(s.Columns, fmt.Sprintf("%d ms", 150+10*c))
	}
	for _, r := range []Row{
		{Title: "known", Note: "12 people, 98–100 epochs", Values: known},
		{Title: "novel", Note: "12 people, 96–100 epochs", Values: novel},
		{Title: "known minus novel", Note: "12 people", Values: difference},
	}[:rows] {
		r.Spline, r.Marks = spline, MeasuredAt(sites)
		s.Rows = append(s.Rows, r)
	}
	return s
}

// withSpread invents n people around the rows' values.
func (s *Sheet) withSpread(n int) {
	random := rand.New(rand.NewPCG(3, 4))
	for i := range s.Rows {
		r := &s.Rows[i]
		sites, _ := r.Values.Dims()
		r.Freedom = n - 1
		for range s.Columns {
			spread := mat.NewDense(sites, n, nil)
			for site := range sites {
				row := spread.RawRowView(site)
				for k := range row {
					row[k] = 3 * random.NormFloat64() / math.Sqrt(float64(n*(n-1)))
				}
				floats.AddConst(-floats.Sum(row)/float64(n), row)
			}
			r.Spread = append(r.Spread, spread)
		}
	}
}

// leaveOut adds the mark of a site without values.
func (r *Row) leaveOut(t testing.TB, names ...layout.Name) {
	t.Helper()
	for _, s := range figtest.Place(t, head.Sphere(89.127), names) {
		r.Marks = append(r.Marks, Mark{Site: s, Kind: LeftOut})
	}
}

// Compose lays a sheet out.
func compose(t testing.TB, s *Sheet) *Plate {
	t.Helper()
	p, err := s.Compose()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestSheetRefuses(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(s *Sheet)
		want   string
	}{
		{"no rows", func(s *Sheet) { s.Rows = nil }, "has no map"},
		{"no columns", func(s *Sheet) { s.Columns = nil }, "has no map"},
		{"a value that is not a number", func(s *Sheet) { s.Rows[0].Values.(*mat.Dense).Set(3, 1, math.NaN()) },
			`row 1 ("known"): the value of site 4 of 64 at 160 ms is NaN`},
		{"an infinite value", func(s *Sheet) { s.Rows[0].Values.(*mat.Dense).Set(0, 0, math.Inf(-1)) },
			"is -Inf: repair"},
		{"a column too many", func(s *Sheet) { s.Columns = append(s.Columns, "1 s") },
			"2 columns of values for 3 latencies"},
		{"too few sites", func(s *Sheet) { s.Rows[0].Values = mat.NewDense(3, 2, nil) }, "row 1"},
		{"no spline", func(s *Sheet) { s.Rows[0].Spline = nil }, "no spline"},
		{"no values", func(s *Sheet) { s.Rows[0].Values = nil }, "no values"},
		{"a negative limit", func(s *Sheet) { s.Limit = -1 }, "limit is -1"},
		{"an error that is not a number", func(s *Sheet) { s.StandardError = math.NaN() },
			"standard error is NaN"},
		{"a narrow page", func(s *Sheet) { s.Width = 2 * vg.Centimeter }, "20 mm wide has no room"},
		{"an endless page", func(s *Sheet) { s.Width = vg.Length(math.Inf(1)) }, "width is +Inf"},
		{"an electrode in the centre", func(s *Sheet) { s.Rows[0].Marks[5].Site.Position = r3.Vec{} },
			"no direction"},
		{"a mark too few", func(s *Sheet) { s.Rows[0].Marks = s.Rows[0].Marks[1:] }, "63 marks for 64 sites"},
		{"a value left out", func(s *Sheet) { s.Rows[0].Marks[2].Kind = LeftOut },
			`mark 3, "Fp2": the first 64`},
		{"a mark without value",
			func(s *Sheet) { s.Rows[0].Marks = append(s.Rows[0].Marks, s.Rows[0].Marks[0]) },
			`mark 65, "Fp1"`},
		{"an unknown quantity", func(s *Sheet) { s.Quantity = 9 }, "quantity 9"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := demoSheet(t, figtest.SixtyFour, 1, 2)
			c.change(s)
			_, err := s.Compose()
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want an error with %q", err, c.want)
			}
		})
	}
}

// What is written on the page says what was decided.
func TestSheetStatesItsDecisions(t *testing.T) {
	ones := func(s *Sheet) {
		v := mat.NewDense(64, 2, nil)
		for i := range 64 {
			v.Set(i, 0, 1.5)
		}
		s.Rows[0].Values = v
	}
	for _, c := range []struct {
		name   string
		change func(s *Sheet)
		want   []string
		absent []string
	}{
		{"defaults", func(*Sheet) {},
			[]string{"left and right are the wearer’s", "Reference: average of 64 sites.",
				"Electrode positions: ideal",
				"Synthetic data.", "12 people", "potential, µV",
				"guessed: the interpolation may be off by over 1.1 µV",
				"not known: off by over 2.9 µV, or over 15 mm outside",
				"measured site (64)"},
			[]string{"repaired", "Reference not known", "flat", "csd"}},
		{"unknowns", func(s *Sheet) {
			s.Reference, s.Rows[0].Note, s.Synthetic, s.Digitised = "", "", false,
				true
		},
			[]string{"Reference not known.", "number of people and epochs not known",
				"Electrode positions: digitised."}, []string{"Synthetic", "ideal"}},
		{"clipping", func(s *Sheet) { s.Limit = 1 },
			[]string{"Clipped at ±1 µV", "where the field is known are −"},
			nil},
		{"noise", func(s *Sheet) { s.Limit, s.StandardError, s.BaselinePower = 8, 1.2, .6 },
			[]string{"Contours every 4 µV", "standard error is 1.2 µV",
				"Field power in the baseline: 0.6 µV."},
			nil},
		{"much noise", func(s *Sheet) { s.Limit, s.StandardError = 8, 4.1 },
			[]string{"No contour but zero, grey: the scale ends below twice the median standard error, " +
				"which is 4.1 µV."}, []string{"Contours every"}},
		{"csd", func(s *Sheet) { s.Quantity = topo.CurrentDensity },
			[]string{"csd: an estimate from the surface Laplacian", "µV/cm²"}, []string{"zero grey"}},
		{"kinds", func(s *Sheet) { s.Rows[0].Marks[0].Kind = Repaired; s.Rows[0].leaveOut(t, "PO5") },
			[]string{"measured site (63)", "repaired site", "site left out"}, []string{"departs"}},
		{"a loose electrode", func(s *Sheet) { s.Rows[0].Values.(*mat.Dense).Set(20, 0, 40) },
			[]string{"departs from what the other sites predict", "FC1 at 150 ms by 35 times its error"},
			nil},
		{"flat", ones, []string{"All sites have the same value, so the map is flat: known, 150 ms (1.5 " +
			"µV); known, " +
			"160 ms (0 µV)."}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := demoSheet(t, figtest.SixtyFour, 1, 2)
			c.change(s)
			var lines []string
			for _, l := range compose(t, s).page.Texts {
				lines = append(lines, l.Text)
			}
			text := strings.ReplaceAll(strings.Join(lines, " "), "\u00a0", " ")
			for _, w := range c.want {
				if !strings.Contains(text, w) {
					t.Errorf("the page does not say %q: %s", w, text)
				}
			}
			for _, w := range c.absent {
				if strings.Contains(text, w) {
					t.Errorf("the page says %q: %s", w, text)
				}
			}
		})
	}
}

func TestSheetClipsOnlyWhatItSays(t *testing.T) {
	s := demoSheet(t, figtest.SixtyFour, 1, 2)
	free := compose(t, s)
	v := s.Rows[0].Values.(*mat.Dense)
	if most := max(mat.Max(v), -mat.Min(v)); free.Scales[0].Limit < most || free.Scales[0].Clipped > .02 {
		t.Errorf("the chosen scale clips an electrode's %g or much of the map: %+v", most, free.Scales[0])
	}
	s.Limit = free.Scales[0].Greatest / 2
	if clipped := compose(t, s); clipped.Scales[0].Clipped <= 0 || clipped.Scales[0].Least != free.Scales[0].Least {
		t.Errorf("half the scale clips nothing, or changes the extremes: %+v", clipped.Scales[0])
	}
}

func TestPlateListsDepartingSites(t *testing.T) {
	s := demoSheet(t, figtest.SixtyFour, 2, 3)
	s.Rows[1].Values.(*mat.Dense).Set(20, 2, -30)
	p := compose(t, s)
	if got := p.Departing(); len(got) != 1 || got[0].Row != 1 || got[0].Column != 2 || got[0].Site != 20 {
		t.Errorf("%v depart, want site 20 of the second row's third map alone", got)
	}
	s.Unringed = true
	if got := compose(t, s).Departing(); got != nil {
		t.Errorf("%v depart without rings", got)
	}
}

func TestFlatMapIsFlat(t *testing.T) {
	s := demoSheet(t, figtest.SixtyFour, 1, 1)
	v := mat.NewDense(64, 1, nil)
	for i := range 64 {
		v.Set(i, 0, -3)
	}
	s.Rows[0].Values = v
	p := compose(t, s)
	if p.Scales[0].Least != -3 || p.Scales[0].Greatest != -3 || p.Scales[0].Limit != 3 {
		t.Errorf("a map of -3 has the scale %+v", p.Scales[0])
	}
	if levels, _ := p.panels[0].contours(p.Scales[0], true); len(levels) > 0 {
		t.Error("a flat map has contours")
	}
}

// The same sheet is the same file, on one processor and on two.
func TestSheetIsDeterministic(t *testing.T) {
	s := demoSheet(t, figtest.SixtyFour, 2, 3)
	first := figtest.PNG(t, compose(t, s))
	before := runtime.GOMAXPROCS(1)
	second := figtest.PNG(t, compose(t, s))
	runtime.GOMAXPROCS(before)
	if !bytes.Equal(first, second) {
		t.Error("the file depends on the number of processors")
	}
}

// Rows with splines of their own keep their order and their maps.
func TestRowsWithDifferentSites(t *testing.T) {
	s := demoSheet(t, figtest.SixtyFour, 3, 2)
	few := demoSheet(t, layout.Set1020(), 1, 2)
	alone := compose(t, few)
	s.Rows[1] = few.Rows[0]
	p := compose(t, s)
	for column := range 2 {
		got, want := p.panels[2+column].field, alone.panels[column].field
		for i := range got.values {
			if math.Abs(got.values[i]-want.values[i]) > 1e-9 {
				t.Fatalf("column %d: the second row is not its own map", column)
			}
		}
	}
}

func BenchmarkSheet(b *testing.B) {
	s := demoSheet(b, figtest.SixtyFour, 1, 10)
	b.Run("compose", func(b *testing.B) {
		for b.Loop() {
			compose(b, s)
		}
	})
	b.Run("png", func(b *testing.B) {
		for b.Loop() {
			figtest.PNG(b, compose(b, s))
		}
	})
}
