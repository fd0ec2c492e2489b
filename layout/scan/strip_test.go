package scan

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/internal/headtest"
)

// The strip of a scan is laid on the ellipsoid that was scanned.
func TestStripOfScanLiesOnTheArc(t *testing.T) {
	e := headtest.Measured(t)
	m, l := scanOf(t, e, 5, pose{turnedAway, all})
	s := mustScan(t, m, l, "")
	worst := 0.0
	for _, r := range layout.Rules() {
		strip, err := layout.Unroll(headtest.Section(t, r, s), 2)
		if err != nil {
			t.Fatal(err)
		}
		off := headtest.Wrap(strip, e, headtest.Section(t, r, e), 0)
		worst = max(worst, off)
		if off > 0.5 {
			t.Errorf("the strip of %s is %.2f mm off", r.Arc(), off)
		}
	}
	t.Logf("worst strip %.3f mm off", worst)
}

// Noise of a scanner, 0.2 mm at each vertex 3 mm apart, makes the tape ride on
// the higher points; a strip that is laid to fit best still follows it.
func TestStripOfNoisyScan(t *testing.T) {
	e := headtest.Measured(t)
	random := rand.New(rand.NewPCG(1, 2))
	rough := pose{func(v r3.Vec) r3.Vec { return r3.Scale(1+0.2/90*random.NormFloat64(), v) }, all}
	m, l := scanOf(t, e, 5, rough)
	s := mustScan(t, m, l, "")
	worstStrip := 0.0
	for _, r := range layout.Rules() {
		arc := headtest.Section(t, r, s)
		strip, err := layout.Unroll(arc, 2)
		if err != nil {
			t.Fatal(err)
		}
		off := math.Inf(1)
		for turned := -0.04; turned <= 0.04; turned += 0.01 {
			off = min(off, headtest.Wrap(strip, e, headtest.Section(t, r, e), turned))
		}
		worstStrip = max(worstStrip, off)
	}
	if d := headtest.Worst(t, s, e); d > 1 || worstStrip > 1.5 {
		t.Errorf("a site is %.2f mm off, a strip %.2f mm", d, worstStrip)
	} else {
		t.Logf("worst site %.2f mm off, worst strip %.2f mm", d, worstStrip)
	}
}
