package headtest

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
)

// PoseErrors is the covariance of turns about x, y and z with standard errors
// in degrees that know nothing of each other.
func PoseErrors(degrees r3.Vec) layout.PoseCovariance {
	r := r3.Scale(math.Pi/180, degrees)
	return layout.PoseCovariance{{r.X * r.X}, {0, r.Y * r.Y}, {0, 0, r.Z * r.Z}}
}
