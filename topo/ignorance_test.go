package topo

import (
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// numpyRows reads the rows of ignorance.tsv of one kind by their names, in
// order; see ignorance.py.
func numpyRows(t *testing.T, kind string) (names []string, rows map[string][][]float64) {
	t.Helper()
	b, err := os.ReadFile("../testdata/topo/ignorance.tsv")
	if err != nil {
		t.Fatal(err)
	}
	rows = map[string][][]float64{}
	for line := range strings.Lines(string(b)) {
		cells := strings.Split(strings.TrimSuffix(line, "\n"), "\t")
		if cells[0] != kind {
			continue
		}
		var numbers []float64
		for _, cell := range cells[2:] {
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				t.Fatal(err)
			}
			numbers = append(numbers, v)
		}
		if rows[cells[1]] == nil {
			names = append(names, cells[1])
		}
		rows[cells[1]] = append(rows[cells[1]], numbers)
	}
	if len(names) == 0 {
		t.Fatalf("no rows of kind %q", kind)
	}
	return names, rows
}

func placesOfReference(t *testing.T) []r3.Vec {
	names, rows := numpyRows(t, "place")
	var points []r3.Vec
	for _, name := range names {
		v := rows[name][0]
		points = append(points, r3.Vec{X: v[0], Y: v[1], Z: v[2]})
	}
	return points
}

func apart(got, want float64) float64 { return math.Abs(got-want) / math.Abs(want) }

func TestIgnoranceMatchesNumpy(t *testing.T) {
	points := placesOfReference(t)
	names, field := numpyRows(t, "field")
	wants := map[string]map[string][][]float64{"field": field}
	for _, kind := range []string{"noise", "truth", "reading"} {
		_, wants[kind] = numpyRows(t, kind)
	}
	for _, name := range names {
		var o Options
		if _, err := fmt.Sscan(name, &o.Order, &o.Smoothing); err != nil {
			t.Fatal(err)
		}
		ignorance, err := build(t, sites64(t), o).Ignorance(points)
		if err != nil {
			t.Fatal(err)
		}
		for kind, of := range map[string]func(Ignorance) float64{
			"field":   func(i Ignorance) float64 { return i.Field },
			"noise":   func(i Ignorance) float64 { return i.Noise },
			"truth":   func(i Ignorance) float64 { return i.Against(50, .02) },
			"reading": func(i Ignorance) float64 { return i.AgainstReading(50, .02) },
		} {
			worst := 0.
			for k, i := range ignorance {
				worst = max(worst, apart(of(i), wants[kind][name][0][k]))
			}
			t.Logf("order and smoothing %s, %s: off by %.1e", name, kind, worst)
			if !(worst <= 1e-6) {
				t.Errorf("order and smoothing %s, %s: off by %g, want 1e-6", name, kind, worst)
			}
		}
	}
}

func TestIgnoranceOfMatchesNumpy(t *testing.T) {
	points := placesOfReference(t)[:4]
	names, rows := numpyRows(t, "sum")
	for _, name := range names {
		row := rows[name][0]
		i, err := build(t, sites64(t), Options{}).IgnoranceOf(points, row[:4])
		if err != nil {
			t.Fatal(err)
		}
		if !(apart(i.Field, row[4]) <= 1e-6 && apart(i.Noise, row[5]) <= 1e-6) {
			t.Errorf("%s: %v, want %v", name, i, row[4:])
		}
	}
}

func TestIgnoranceOfOnePlaceIsItsIgnorance(t *testing.T) {
	s, points := build(t, sites64(t), Options{}), placesOfReference(t)[:20]
	all, err := s.Ignorance(points)
	if err != nil {
		t.Fatal(err)
	}
	for k, p := range points {
		one, err := s.IgnoranceOf([]r3.Vec{p}, []float64{-1})
		if err != nil {
			t.Fatal(err)
		}
		if apart(one.Field, all[k].Field) > 1e-9 || apart(one.Noise, all[k].Noise) > 1e-9 {
			t.Errorf("%v: %v alone, %v among others", p, one, all[k])
		}
	}
}

// At an electrode a spline without smoothing is off by that electrode's noise
// and nothing else.
func TestIgnoranceAtAnElectrode(t *testing.T) {
	s := build(t, sites64(t), Options{})
	all, err := s.Ignorance(positions(sites64(t)))
	if err != nil {
		t.Fatal(err)
	}
	for k, i := range all {
		if i.Field > 1e-9 || math.Abs(i.Noise-1) > 1e-9 {
			t.Errorf("%s: %v, want no error of the field and all of the noise", sites64(t)[k].Name, i)
		}
	}
}

// The golden section ends a thousandth of a step of the nugget away, 5e-4 of
// it.
func TestRoughnessMatchesScipy(t *testing.T) {
	names, fits := numpyRows(t, "fit")
	_, amplitudes := numpyRows(t, "row")
	s := build(t, sites64(t), Options{})
	for _, name := range names {
		want, columns := fits[name][0][1:], int(fits[name][0][0])
		y := mat.NewDense(64, columns, nil)
		for i, row := range amplitudes[name] {
			y.SetRow(i, row)
		}
		r, err := s.Roughness(y)
		if err != nil {
			t.Fatal(err)
		}
		if !r.Settled || r.Indicative || r.Freedom != 63 {
			t.Errorf("%s: %+v, want a settled fit of 63 degrees of freedom", name, r)
		}
		worst := apart(r.Nugget, want[0])
		for k, v := range r.Variances {
			worst = max(worst, apart(v, want[k+1]))
		}
		t.Logf("%s: off by %.1e", name, worst)
		if !(worst <= 1e-3) {
			t.Errorf("%s: nugget %g and variances %g, want %g", name, r.Nugget, r.Variances, want)
		}
	}
}

func TestRoughnessWithoutDifferences(t *testing.T) {
	flat := mat.NewDense(64, 2, nil)
	for i := range 64 {
		flat.SetRow(i, []float64{-37.5, 0})
	}
	r, err := build(t, sites64(t), Options{}).Roughness(flat)
	if err != nil {
		t.Fatal(err)
	}
	if Together(r.Variances) != 0 || r.Settled {
		t.Errorf("%+v, want no variance and no settled nugget", r)
	}
}

// White noise has no field in it: the search ends at its bound and says so.
func TestRoughnessOfNoiseDoesNotSettle(t *testing.T) {
	r, err := build(t, sites64(t), Options{}).Roughness(white(64, 40))
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("nugget %g, mean variance %g µV²", r.Nugget, Together(r.Variances))
	if r.Settled {
		t.Errorf("a nugget of %g settled on white noise", r.Nugget)
	}
	if total := Together(r.Variances) * r.Nugget; math.Abs(total-100) > 10 {
		t.Errorf("noise of %g µV², want 100", total)
	}
}

func TestFewSitesAreIndicativeOnly(t *testing.T) {
	for n, want := range map[int]bool{7: true, 8: false} {
		r, err := build(t, sites64(t)[:n], Options{}).Roughness(white(n, 1))
		if err != nil {
			t.Fatal(err)
		}
		if r.Indicative != want || r.Freedom != n-1 {
			t.Errorf("%d sites: %+v", n, r)
		}
	}
}
