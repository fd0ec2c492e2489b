package reject

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"calotte/topo/erp/internal/matrix"
	"calotte/topo/internal/erptest"
	"calotte/topo/recording"
)

// What numpy and scipy measure (testdata/erp/rules.py).
func TestRulesAgainstNumpy(t *testing.T) {
	var want struct {
		Rows []struct {
			Row                []float64
			Half, Length       int
			Swing, Step, Still float64
		}
		Values [][]float64
		Limits []float64
	}
	erptest.ReadJSON(t, "rules.json", &want)
	for i, w := range want.Rows {
		// Sums of half a hundred samples: a rounding of the offset
		// each.
		rounding := 1e-14 * (1 + math.Abs(w.Row[0])*float64(w.Half))
		if got := SwingOf(w.Row); got != w.Swing {
			t.Errorf("row %d: swing %v, want %v", i, got, w.Swing)
		}
		if got := StepOf(w.Row, w.Half); !erptest.Near(got, w.Step, rounding) {
			t.Errorf("row %d: step %v, want %v", i, got, w.Step)
		}
		if got := StillestOf(w.Row, w.Length); got != w.Still {
			t.Errorf("row %d: stillest %v, want %v", i, got, w.Still)
		}
	}
	limits, err := RobustLimits(want.Values, UsualDeviations)
	if err != nil {
		t.Fatal(err)
	}
	for i, l := range limits {
		if !erptest.Near(l, want.Limits[i], 1e-12*want.Limits[i]) {
			t.Errorf("site %d: limit %v, want %v", i, l, want.Limits[i])
		}
	}
	slices.Reverse(want.Values)
	if again, _ := RobustLimits(want.Values, UsualDeviations); !slices.Equal(again, limits) {
		t.Error("limits depend on the order of the epochs")
	}
}

func TestRulesAtTheirLimits(t *testing.T) {
	clipped := Clipped{Low: Limits{-100}, High: Limits{100}, Samples: 3}
	for _, c := range []struct {
		name   string
		rule   Rule
		row    []float64
		value  float64
		broken bool
	}{
		{"swing at its limit", Swing{Limits{10}}, []float64{-4, 6, 0}, 10, false},
		{"swing above", Swing{Limits{10}}, []float64{-4, 6.5, 0}, 10.5, true},
		{"no limit", Swing{}, []float64{0, 1e9}, 1e9, false},
		{"swing of a NaN", Swing{Limits{10}}, []float64{0, math.NaN()}, math.NaN(), true},
		{"swing of infinity", Swing{Limits{10}}, []float64{0, math.Inf(1)}, math.NaN(), true},
		{"step at its limit", Step{Limits{5}, 2}, []float64{1, 1, 6, 6, 6}, 5, false},
		{"step above", Step{Limits{5}, 2}, []float64{6, 6, 6, 0, 0}, 6, true},
		{"a peak is no step", Step{Limits{5}, 3}, []float64{0, 0, 0, 12, 0, 0, 0}, 4, false},
		{"too short for a step", Step{Limits{5}, 3}, []float64{0, 0, 0, 99, 99}, 0, false},
		{"flat at its limit", Flat{Limits{1}, 3}, []float64{0, 5, 6, 5, 9}, 1, true},
		{"not flat", Flat{Limits{0.5}, 3}, []float64{0, 5, 6, 5, 9}, 1, false},
		{"repeats", Flat{Limits{0}, 3}, []float64{0, 7, 7, 7, 9}, 0, true},
		{"too short to be flat", Flat{Limits{1}, 4}, []float64{0, 0, 0}, math.Inf(1), false},
		{"flat without a limit", Flat{nil, 2}, []float64{0, 0, 0}, 0, false},
		{"clipped", clipped, []float64{0, 100, 100, 100, 0}, 3, true},
		{"clipped below", clipped, []float64{-100, -100, -120}, 3, true},
		{"not for long", clipped, []float64{100, 100, 0, 100, 100}, 2, false},
		{"from end to end", clipped, []float64{100, 100, -100, -100}, 2, false},
		{"equal but inside", clipped, []float64{99, 99, 99, 99}, 0, false},
		{"clipping not asked", Clipped{}, []float64{0, 0, 0}, 0, false},
	} {
		value, _, broken := c.rule.Measure(0, c.row)
		if value != c.value && !(math.IsNaN(value) && math.IsNaN(c.value)) || broken != c.broken {
			t.Errorf("%s: %v, %v, want %v, %v", c.name, value, broken, c.value, c.broken)
		}
	}
}

// A limit a site.
func TestLimitsBySite(t *testing.T) {
	rule := Swing{Limits{10, 20}}
	for site, want := range []bool{true, false} {
		if _, limit, broken := rule.Measure(site, []float64{0, 15}); broken != want ||
			limit != rule.Limits[site] {
			t.Errorf("site %d: broken %v at %v", site, broken, limit)
		}
	}
}

// The ends of the range as a file has them, in digital steps of 0.1 µV, and
// upside down.
func TestClippedFromTheHeader(t *testing.T) {
	upright := erptest.Signal("Cz", 100)
	turned := upright
	turned.PhysicalMin, turned.PhysicalMax = turned.PhysicalMax, turned.PhysicalMin
	c := NewClipped([]recording.Signal{upright, turned}, 2)
	for site := range 2 {
		for _, v := range []struct {
			value   float64
			clipped bool
		}{{3276.7, true}, {3276.7 - 1e-9, true}, {3276.6, false}, {-3276.8, true}, {-3276.7, false}} {
			if _, _, broken := c.Measure(site, []float64{0, v.value, v.value}); broken != v.clipped {
				t.Errorf("signal %d at %v: clipped %v", site, v.value, broken)
			}
		}
		if n := c.Count(site, []float64{3276.7, 3276.7, 0, 3276.7, 0, -3276.8, -3276.8, -3276.8}); n != 5 {
			t.Errorf("signal %d: %d samples clipped, want 5", site, n)
		}
	}
}

// The sliding measures against their definitions.
func TestSlidingMeasuresAreTheirDefinitions(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		row := rapid.SliceOfN(rapid.Float64Range(-100, 100), 1, 40).Draw(t, "row")
		n := rapid.IntRange(1, 20).Draw(t, "length")
		step, still := 0.0, math.Inf(1)
		for from := range row {
			if from+2*n <= len(row) {
				before, after := 0.0, 0.0
				for k := range n {
					before += row[from+k] / float64(n)
					after += row[from+n+k] / float64(n)
				}
				step = max(step, math.Abs(after-before))
			}
			if n > 1 && from+n <= len(row) {
				still = min(still, slices.Max(row[from:from+n])-slices.Min(row[from:from+n]))
			}
		}
		if got := StepOf(row, n); !erptest.Near(got, step, 1e-10) {
			t.Fatalf("step %v, want %v", got, step)
		}
		if got := StillestOf(row, n); got != still {
			t.Fatalf("stillest %v, want %v", got, still)
		}
	})
}

func TestRobustLimitsOfOddData(t *testing.T) {
	values := matrix.New(12, 2) // the first site is flat
	for k, row := range values {
		row[1] = float64(k)
	}
	values[3][1] = math.NaN()
	limits, err := RobustLimits(values, 2)
	if err != nil {
		t.Fatal(err)
	}
	// Without the 3: median 6, deviations 0 1 1 2 2 3 4 4 5 5 6.
	if !math.IsInf(limits[0], 1) || !erptest.Near(limits[1], 6+2*1.4826*3, 1e-12) {
		t.Errorf("limits %v, want +Inf and 14.8956", limits)
	}
	_, err = RobustLimits(values[:9], 6)
	erptest.WantError(t, err, "9 epochs are too few", "10 or more")
	for _, k := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		_, err = RobustLimits(values, k)
		erptest.WantError(t, err, "expected a positive number")
	}
}

func BenchmarkRules(b *testing.B) {
	row := make([]float64, 501)
	for t := range row {
		row[t] = math.Sin(float64(t))
	}
	for _, r := range []Rule{Swing{Limits{100}}, Step{Limits{100}, 50}, Flat{Limits{0.1}, 50},
		Clipped{Limits{-100}, Limits{100}, 3}} {
		b.Run(r.Reason(), func(b *testing.B) {
			for b.Loop() {
				r.Measure(0, row)
			}
		})
	}
}
