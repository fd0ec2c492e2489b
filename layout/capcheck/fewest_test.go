package capcheck_test

import (
	"math"
	"testing"

	"calotte/layout"
	"calotte/layout/capcheck"
	"calotte/layout/head"
)

// Readings are those that tell of the axis that counts, and what they leave is
// what a check by the same tapes states.
func TestFewestTapes(t *testing.T) {
	surface := head.Sphere(90)
	for _, c := range []struct {
		axis  int
		limit float64 // rad
		want  []string
	}{
		{2, .2, nil}, // a cap that nobody looked at is sure to .1 rad
		{0, .03, []string{"Nz-Fpz", "Iz-Oz"}},
		{1, .03, []string{"LPA-T7", "RPA-T8"}},
		{2, .05, []string{"LPA-Fpz", "RPA-Fpz"}},
	} {
		plan, err := capcheck.FewestTapes(surface, c.limit, func(v layout.PoseCovariance) (float64, error) {
			return math.Sqrt(v[c.axis][c.axis]), nil
		})
		if err != nil {
			t.Fatal(err)
		}
		if len(plan.Tapes) != len(c.want) || plan.Error > c.limit {
			t.Errorf("about axis %d: %+v, want %v", c.axis, plan, c.want)
			continue
		}
		for i, tape := range plan.Tapes {
			if tape != c.want[i] {
				t.Errorf("about axis %d: %v, want %v", c.axis, plan.Tapes, c.want)
			}
		}
		if len(plan.Tapes) > 0 {
			checkStated(t, surface, plan)
		}
	}
	plan, err := capcheck.FewestTapes(surface, 0, func(v layout.PoseCovariance) (float64, error) {
		return math.Sqrt(v[0][0] + v[1][1] + v[2][2]), nil
	})
	if err != nil || len(plan.Tapes) != 8 || plan.Error <= 0 {
		t.Errorf("%+v, %v: want all tapes, which still do not reach nothing", plan, err)
	}
	checkStated(t, surface, plan)
}

// checkStated compares with a check of a cap that is in its place.
func checkStated(t *testing.T, surface layout.Surface, plan capcheck.TapePlan) {
	t.Helper()
	var tapes []capcheck.Tape
	for _, text := range plan.Tapes {
		parsed, err := capcheck.ParseTapes(text + " 4cm")
		if err != nil {
			t.Fatal(err)
		}
		parsed[0].Distance = 100
		if short := parsed[0].To; short == "T7" || short == "T8" || parsed[0].From == "Nz" ||
			parsed[0].From == "Iz" {
			parsed[0].Distance = 35 // some 10 % of an arc of 283 mm from landmark to landmark
		}
		tapes = append(tapes, parsed[0])
	}
	check, err := capcheck.CheckTapes(surface, tapes, capcheck.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i := range 3 {
		for j := range 3 {
			if d := check.Covariance[i][j] - plan.Covariance[i][j]; math.Abs(d) > 1e-12 {
				t.Errorf("%v: the covariance of a check differs by %g rad²", plan.Tapes, d)
			}
		}
	}
}
