package contrast

import (
	"fmt"
	"math"

	"calotte/layout"
	"calotte/topo"
	"calotte/topo/erp/average"
	"calotte/topo/unit"
)

// A PlacementNeed asks how well caps must sit for placement to make no more of
// right minus left than is bearable.
type PlacementNeed struct {
	// Effect, in µV, is what placement must not make, in 95 of 100 caps;
	// zero: its error is to be no larger than that of the noise.
	Effect float64
}

// Limit is the error of placement, a standard deviation in µV, that is bearable
// beside an asymmetry; NaN where the noise is not known.
func (n PlacementNeed) Limit(a Asymmetry) float64 {
	if n.Effect > 0 {
		return n.Effect / normal
	}
	return a.SEM
}

// Words say what is bearable: "less than 1 µV (95 %)".
func (n PlacementNeed) Words() string {
	if n.Effect > 0 {
		return fmt.Sprintf("less than %g µV (95 %%)", n.Effect)
	}
	return "less than the noise"
}

// A TypicalMap is the field of an average at a latency, by which the placement
// that a reading needs is found.
type TypicalMap struct {
	spline       *topo.Spline
	coefficients *topo.Coefficients
}

// NewTypicalMap is that of an average. The spline goes through its sites.
func NewTypicalMap(spline *topo.Spline, avg *average.Average, at unit.Latency) (*TypicalMap, error) {
	amplitudes, err := amplitudesAt(avg, []unit.Latency{at})
	if err != nil {
		return nil, err
	}
	c, err := spline.Solve(amplitudes)
	return &TypicalMap{spline, c}, err
}

// PlacementError is what a covariance of the pose, in rad², makes of a reading:
// a standard deviation in µV.
func (m *TypicalMap) PlacementError(r Reading, c layout.PoseCovariance) (float64, error) {
	errors, err := Pose{Covariance: c}.PlacementErrors(m.spline, m.coefficients, r)
	if err != nil {
		return 0, err
	}
	return errors[0], nil
}

// Farthest is how far caps may sit off, in mm at the ring, a standard deviation
// about each axis, for the error of placement to stay at a limit in µV; NaN:
// farther than 15 mm, up to which the spline is reliable.
func (m *TypicalMap) Farthest(r Reading, limit float64) (float64, error) {
	low, high := 0., turnReach
	for high-low > 1e-3 {
		middle := (low + high) / 2
		e, err := m.PlacementError(r, AssumedPose(middle, m.spline.Radius()).Covariance)
		if err != nil {
			return 0, err
		}
		if e > limit {
			high = middle
		} else {
			low = middle
		}
	}
	if high == turnReach {
		return math.NaN(), nil
	}
	return low, nil
}
