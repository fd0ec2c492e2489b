package topo_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"

	"calotte/layout"
	"calotte/topo"
)

func departures(tb testing.TB, f field) []topo.Departure {
	tb.Helper()
	spline, c := f.spline(tb, topo.Options{})
	found, err := spline.Departures(f.values, c)
	if err != nil {
		tb.Fatal(err)
	}
	return found
}

// departs reports whether one of the sites, or with others any site but these,
// departs anywhere.
func departs(found []topo.Departure, others bool, sites ...int) bool {
	return slices.ContainsFunc(found, func(d topo.Departure) bool {
		return slices.Contains(sites, d.Site) != others
	})
}

// mapsWith counts the maps of a sheet with a departure.
func mapsWith(found []topo.Departure, columns int) (maps tally) {
	for k := range columns {
		maps.count(slices.ContainsFunc(found, func(d topo.Departure) bool { return d.Column == k }))
	}
	return maps
}

func (f field) row(name layout.Name) int {
	return slices.IndexFunc(f.sites, func(s layout.Site) bool { return s.Name == string(name) })
}

func texts(names []layout.Name) (out []string) {
	for _, n := range names {
		out = append(out, string(n))
	}
	return out
}

// Of maps of a random field and noise of .3 µV, at most one of fifty may have a
// departing site. Found, of 2,000 each: .005 of 64 sites in sheets of ten,
// .0035 of 19 sites alone.
func TestNoiseSeldomDeparts(t *testing.T) {
	random := rand.New(rand.NewPCG(6, 1))
	for _, c := range []struct {
		names           []string
		sheets, columns int
	}{{sixtyFour, 100, 20}, {texts(layout.Set1020()), 2000, 1}} {
		from := newSource(t, ideal(t, c.names))
		var maps tally
		for range c.sheets {
			maps.add(mapsWith(departures(t, from.draw(random, c.columns, .3)), c.columns))
		}
		t.Logf("%d sites, %d columns: %.4f of %d", len(c.names), c.columns, maps.share(), maps.of)
		if maps.share() > .02 {
			t.Errorf("%.4f of the maps with %d sites depart, want at most .02", maps.share(), len(c.names))
		}
	}
}

// A fault spoils some sites of a sheet.
type fault struct {
	name  string
	sites []layout.Name
	spoil func(random *rand.Rand, rows [][]float64)
	least float64 // share of the sheets in which it is to be found
}

func loose(random *rand.Rand, rows [][]float64) {
	for j := range rows[0] {
		rows[0][j] += 10 * random.NormFloat64()
	}
}

func drift(_ *rand.Rand, rows [][]float64) {
	for j := range rows[0] {
		rows[0][j] += 10
	}
}

func swap(_ *rand.Rand, rows [][]float64) {
	for j := range rows[0] {
		rows[0][j], rows[1][j] = rows[1][j], rows[0][j]
	}
}

var faults = []fault{
	{"loose", []layout.Name{"Cz"}, loose, .9},
	{"loose", []layout.Name{"O2"}, loose, .9},
	{"drift", []layout.Name{"Cz"}, drift, .9},
	{"drift", []layout.Name{"O2"}, drift, .9},
	{"swap", []layout.Name{"C3", "P8"}, swap, .5},
	{"swap", []layout.Name{"F7", "O2"}, swap, .5},
	{"swap", []layout.Name{"C3", "C4"}, swap, .2},
}

// spoiled is a copy of a sheet with a fault.
func (f fault) spoiled(random *rand.Rand, sheet field) (spoiled field, rows []int) {
	spoiled = field{sheet.sites, mat.DenseCopyOf(sheet.values)}
	var values [][]float64
	for _, name := range f.sites {
		rows = append(rows, sheet.row(name))
		values = append(values, spoiled.values.RawRowView(sheet.row(name)))
	}
	f.spoil(random, values)
	return spoiled, rows
}

// Sheets of three maps of a random field, which varies by 2.8 µV at a place,
// with faults at the centre (Cz, C3) and at the rim (O2, F7, P8): a loose
// electrode with noise of 10 µV, a drift of 10 µV, and swapped pairs. Found, of
// 25 sheets each:
//
//	                64 sites: found, all of it, others blamed   19 sites: found
//	loose Cz, O2    1 and 1, 1 and 1, .04 and .04               .76 and .88
//	drift Cz, O2    1 and 1, 1 and 1, 0 and 0                   .96 and 1
//	swap C3 P8      .80, .72, .04                               0
//	swap F7 O2      .64, .56, 0                                 0
//	swap C3 C4      .40, .36, 0                                 .04
//
// Without looking again once the worst is out, of 100 sheets others were blamed
// in .77 of the sheets for O2 loose and in .59 for its drift, mostly Iz, and
// both sites of the first pair were found in .22, of the second in .37 of them.
// With 19 sites of so rough a field a swapped pair cannot be seen.
func TestFaultsDepart(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 1))
	for _, names := range [][]string{sixtyFour, texts(layout.Set1020())} {
		from := newSource(t, ideal(t, names))
		for _, f := range faults {
			var hit, all, blamed tally
			for range 25 {
				sheet, rows := f.spoiled(random, from.draw(random, 3, .3))
				found := departures(t, sheet)
				hit.count(departs(found, false, rows...))
				all.count(!slices.ContainsFunc(rows,
					func(i int) bool { return !departs(found, false, i) }))
				blamed.count(departs(found, true, rows...))
			}
			what := fmt.Sprintf("%s at %v of %d sites", f.name, f.sites, len(names))
			t.Logf("%s: found in %.2f, all of it in %.2f, others blamed in %.2f of the sheets", what,
				hit.share(), all.share(), blamed.share())
			if len(names) == 64 && hit.share() < f.least {
				t.Errorf("%s: found in %.2f of the sheets, want %g", what, hit.share(), f.least)
			}
			if blamed.share() > .15 {
				t.Errorf("%s: others blamed in %.2f of the sheets, want at most .15", what,
					blamed.share())
			}
		}
	}
}

// Real averages do have departing sites: of 41 latencies of each of the three,
// 9, 24 and 23 maps, F8 most in the first, of 30 epochs, and AF3 in the other
// two, of 16 and 14. An amplitude of one electrode alone is more than noise and
// less than a fault. Found, of pairs swapped in them: F7 and O2 in all three,
// C3 and P8 in all three, C3 and C4 in none.
func TestDeparturesOfOpenRecordings(t *testing.T) {
	random := rand.New(rand.NewPCG(8, 1))
	for k, f := range openAverages(t) {
		found := departures(t, f)
		maps := mapsWith(found, 41)
		t.Logf("average %d: %d of %d maps", k, maps.hits, maps.of)
		if maps.share() > .7 || departs(found, false, f.row("F7"), f.row("O2"), f.row("C3"), f.row("P8")) {
			t.Errorf("average %d: %d of %d maps have departing sites: %v", k, maps.hits, maps.of, found)
		}
		for _, fault := range faults {
			if fault.name != "swap" || fault.least < .5 {
				continue
			}
			sheet, rows := fault.spoiled(random, f)
			if !departs(departures(t, sheet), false, rows...) {
				t.Errorf("average %d: %v, swapped, do not depart", k, fault.sites)
			}
		}
	}
}

func TestTooFewSitesForDepartures(t *testing.T) {
	f := field{ideal(t, sixtyFour[:7]), mat.NewDense(7, 1, []float64{0, 0, 0, 900, 0, 0, 0})}
	if found := departures(t, f); found != nil {
		t.Errorf("%v of seven sites, want none", found)
	}
}
