package contrast

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/topo"
	"calotte/topo/erp/average"
)

// FieldErrors are the root mean square changes of a field over the poses that
// are allowed for, point × column in µV: of one person, as that cap may have
// sat; of a group, as all caps may have sat alike, since what differs from
// person to person is in the sampling error.
func (p *Placement) FieldErrors(of average.Info, spline *topo.Spline, c *topo.Coefficients,
	points []r3.Vec) (*mat.Dense, error) {
	pose := Pose{Covariance: p.Shared}
	if of.Kind != average.GrandAverage {
		var err error
		if pose, err = p.pose(of.Name); err != nil {
			return nil, err
		}
	}
	poses, err := pose.undone()
	if err != nil {
		return nil, err
	}
	read := func(turn r3.Vec) *mat.Dense {
		moved, rotate := make([]r3.Vec, len(points)), Turned(turn)
		for i, at := range points {
			moved[i] = rotate(at)
		}
		return spline.Interpolate(moved, topo.Potential, c)
	}
	middle := read(r3.Scale(-1, pose.Turn))
	out := mat.NewDense(len(points), columnsOf(middle), nil)
	for _, x := range poses {
		var change mat.Dense
		change.Sub(read(x.turn), middle)
		out.Apply(func(i, j int, v float64) float64 {
			d := change.At(i, j)
			return v + x.weight*d*d
		}, out)
	}
	out.Apply(func(_, _ int, v float64) float64 { return math.Sqrt(v) }, out)
	return out, nil
}

func columnsOf(m mat.Matrix) int {
	_, columns := m.Dims()
	return columns
}
