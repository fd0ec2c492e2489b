package scan

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/internal/headtest"
)

// Neighbours on a scan: the tape's plane costs less than 0.1 mm.
func TestDistanceOnScan(t *testing.T) {
	e := headtest.Measured(t)
	m, l := scanOf(t, e, 5, pose{turnedAway, func(v r3.Vec) bool { return v.Z > -60 }})
	s := mustScan(t, m, l, "")
	at := headtest.Positions(t, e, layout.Set1010()...)
	on := headtest.Positions(t, s, layout.Set1010()...)
	near, far := 0.0, 0.0
	for i, n := range layout.Set1010() {
		for j, other := range layout.Set1010()[i+1:] {
			if j%5 > 0 {
				continue
			}
			want, err := e.Distance(at[n], at[other])
			if err != nil || min(at[n].Z, at[other].Z) < -10 || want > 150 {
				continue
			}
			got, err := s.Distance(on[n], on[other])
			if err != nil {
				t.Fatalf("%s to %s: %v", n, other, err)
			}
			if d := math.Abs(got - want); want < 80 {
				near = max(near, d)
			} else {
				far = max(far, d)
			}
		}
	}
	if near > 0.1 || far > 1 {
		t.Errorf("up to 80 mm %.3f mm off, up to 150 mm %.3f mm", near, far)
	}
	t.Logf("up to 80 mm %.3f mm off, up to 150 mm %.3f mm", near, far)
	if _, err := s.Distance(on["T7"], on["T8"]); err == nil {
		t.Error("T7 to T8 has a distance")
	}
}
