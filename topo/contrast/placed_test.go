package contrast_test

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/topo/contrast"
	"calotte/topo/erp/average"
	"calotte/topo/measure"
	"calotte/topo/unit"
)

// A field that the spline knows to the bit, of degree 1, recorded by a cap that
// sat turned: at the ideal sites it is what it was, in averages and in scores,
// and the error of a known field's slope is what it is by hand.
func TestPlacedScores(t *testing.T) {
	spline, sites := onSphere(t, sixtyFour)
	field := func(p r3.Vec) float64 { return 4 * p.X / 90 }
	turn := r3.Vec{Y: .05, Z: .04}
	recorded := averageOf(sites, func(p r3.Vec) float64 { return field(contrast.Turned(turn)(p)) })
	v := .02 * .02
	p := &contrast.Placement{Poses: map[string]contrast.Pose{"a": {Turn: turn,
		Covariance: layout.PoseCovariance{{v, 0, 0}, {0, v, 0}, {0, 0, v}}}}}
	sample := contrast.Sample{Average: recorded}
	ideal, err := p.AtIdeal(sample, spline)
	if err != nil {
		t.Fatal(err)
	}
	for i, s := range sites {
		if d := ideal.Average.Mean[i][0] - field(s.Position); math.Abs(d) > 2e-3 {
			t.Errorf("%s is off by %g µV at its place", s.Name, d)
		}
	}
	s := contrast.Scoring{Sites: []layout.Name{"Cz", "P7"}, Pools: []measure.Pool{{Name: "both",
		Sites: []layout.Name{"T7", "T8"}}}, Spline: spline, Placement: p}
	found, err := s.Components(sample, recorded,
		[]measure.Window{{Name: "all", Span: unit.Span{From: 0, To: .004}}})
	if err != nil {
		t.Fatal(err)
	}
	// 4 µV over the radius, times .02 rad: at Cz by roll alone, of the mean
	// of T7 and T8 by nothing.
	if e := found[0].Placed.Placement; math.Abs(e-4*.02) > 1e-3 {
		t.Errorf("at Cz the error of placement is %g µV, want .08", e)
	}
	if e := found[2].Placed.Placement; e > 1e-3 {
		t.Errorf("of the mean of T7 and T8 it is %g µV, want none", e)
	}
	if e := found[1].Placed.Interpolation; e <= 0 {
		t.Errorf("read beside an electrode, P7 has an error of interpolation of %g µV", e)
	}
	power := found[3]
	if power.Placed != nil || !math.IsNaN(power.Dissimilarity) {
		t.Errorf("the field power of the average itself: %+v", power)
	}
}

// Of people nothing can be told whose poses are not known, or who are not
// there.
func TestPlacementRefuses(t *testing.T) {
	spline, sites := onSphere(t, sixtyFour)
	a := averageOf(sites, func(p r3.Vec) float64 { return p.X })
	p := &contrast.Placement{}
	if _, err := p.AtIdeal(contrast.Sample{Average: a}, spline); err == nil ||
		!strings.Contains(err.Error(), "the cap of a sat") {
		t.Error(err)
	}
	a.Info.Kind = average.GrandAverage
	if _, err := p.AtIdeal(contrast.Sample{Average: a}, spline); err == nil ||
		!strings.Contains(err.Error(), "the people behind it") {
		t.Error(err)
	}
}

// The parts of an interval are shares of its square, by t where epochs or
// people were counted.
func TestUncertainty(t *testing.T) {
	u := contrast.Uncertainty{Sampling: 1, Interpolation: 2, Placement: 2}
	near(t, "total", u.Total(), 3)
	const t11, z = 2.2009851600829, 1.959963984540054
	whole := t11*t11 + 8*z*z
	noise, interpolation, placement := u.Shares(12)
	for what, of := range map[string][2]float64{"noise": {noise, t11 * t11 / whole},
		"interpolation": {interpolation, 4 * z * z / whole}, "placement": {placement, 4 * z * z / whole}} {
		near(t, what, of[0], of[1])
	}
}
