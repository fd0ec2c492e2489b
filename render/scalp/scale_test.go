package scalp

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"calotte/render/internal/figtest"
	"calotte/render/paper"
)

func TestNiceLimit(t *testing.T) {
	for _, c := range []struct{ magnitude, want float64 }{
		{7.133, 8}, {8, 8}, {8.001, 10}, {1, 1}, {1.01, 1.5}, {1.5, 1.5}, {1.9, 2}, {2.1, 2.5}, {2.7, 3},
		{3.2, 4}, {4.4, 5}, {5.1, 6}, {11.74, 15}, {.0031, .004}, {.3, .3}, {999, 1000}, {1e-30, 1e-30},
		{0, 1}, {math.Inf(1), 1}, {math.NaN(), 1}, {-3, 1},
	} {
		if got := NiceLimit(c.magnitude); got != c.want {
			t.Errorf("the limit for %g is %g, want %g", c.magnitude, got, c.want)
		}
	}
}

func TestContourStep(t *testing.T) {
	for _, c := range []struct{ limit, standardError, want float64 }{
		{8, 0, 2}, {10, 0, 2}, {15, 0, 3}, {2.5, 0, .5}, {3, 0, .5}, {6, 0, 1}, {1, 0, .2},
		{8, 1, 2}, {8, 1.01, 4}, {8, 2.1, 8}, {8, 4.1, 8.2}, {8, 100, 200}, {8, math.NaN(), 2},
		{5, .5, 1}, {5, .51, 5}, {5, 2.6, 5.2}, {7, 0, 1.75}, {7, 1, 3.5},
	} {
		if got := ContourStep(c.limit, c.standardError); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("limit %g, standard error %g: step %g, want %g", c.limit, c.standardError, got, c.want)
		}
	}
}

func TestScaleProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		magnitude := math.Pow(10, rapid.Float64Range(-12, 12).Draw(t, "exponent"))
		standardError := rapid.Float64Range(0, magnitude).Draw(t, "standard error")
		s := Scale{Limit: NiceLimit(magnitude)}
		s.Step = ContourStep(s.Limit, standardError)
		if s.Limit < magnitude*(1-1e-9) || s.Limit > 1.6*magnitude {
			t.Errorf("limit %g for %g", s.Limit, magnitude)
		}
		if s.Step < 2*standardError {
			t.Errorf("step %g for a standard error of %g", s.Step, standardError)
		}
		if levels := s.Levels(); s.Contoured() != (s.Step <= s.Limit) || s.Contoured() != (len(levels) > 1) ||
			!slices.Contains(levels, 0) {
			t.Errorf("levels %v for limit %g and step %g", levels, s.Limit, s.Step)
		}
		ticks := s.Ticks()
		if ticks[0] != -s.Limit || ticks[len(ticks)-1] != s.Limit || ticks[len(ticks)/2] != 0 {
			t.Errorf("ticks %v do not run from limit to limit through zero", ticks)
		}
		for i, v := range ticks {
			if v != -ticks[len(ticks)-1-i] {
				t.Errorf("ticks %v are not symmetric", ticks)
			}
		}
		if !slices.IsSorted(ticks) {
			t.Errorf("ticks %v do not rise", ticks)
		}
	})
}

func TestNumber(t *testing.T) {
	for _, c := range []struct {
		v      float64
		digits int
		want   string
	}{
		{0, 3, "0"}, {-11.738, 3, "−11.7"}, {7.1337, 3, "7.13"}, {15, 6, "15"}, {-.3, 6, "−0.3"},
		{1200, 2, "1200"}, {1234, 3, "1230"}, {.00012, 3, "0.00012"}, {1e-9, 3, "1e−09"}, {2.0000001, 3, "2"},
	} {
		if got := paper.Number(c.v, c.digits); got != c.want {
			t.Errorf("%g to %d digits is %q, want %q", c.v, c.digits, got, c.want)
		}
	}
}

// With much noise only the line of zero is left, and that where the map reaches
// beyond the noise.
func TestMuchNoiseLeavesTheContourOfZero(t *testing.T) {
	for _, c := range []struct {
		standardError float64
		most          int // levels a map
	}{{0, 100}, {.9, 1}, {100, 0}} {
		s := demoSheet(t, figtest.SixtyFour, 1, 2)
		s.Limit, s.StandardError = 1.5, c.standardError
		for _, p := range compose(t, s).panels {
			levels, _ := p.contours(Scale{Limit: s.Limit, Step: ContourStep(s.Limit, s.StandardError)},
				true)
			if len(levels) > c.most || c.most == 1 && (len(levels) != 1 || levels[0] != 0) {
				t.Errorf("standard error %g: contours at %v", c.standardError, levels)
			}
		}
	}
}
