package contrast

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/topo"
)

// A Pose is what is known of how a cap sat: turned off its place by a rotation
// vector in radians, with its covariance.
type Pose struct {
	Turn       r3.Vec
	Covariance layout.PoseCovariance
}

// AssumedPose is that of a cap which nobody checked, and which is taken to sit
// off by some mm at the ring, a standard deviation about each axis, on a head
// of a radius in mm.
func AssumedPose(millimetres, radius float64) Pose {
	v := millimetres / radius * millimetres / radius
	return Pose{Covariance: layout.PoseCovariance{{v, 0, 0}, {0, v, 0}, {0, 0, v}}}
}

// A weightedTurn is one of the turns that stand for all that a cap may have sat
// in.
type weightedTurn struct {
	turn   r3.Vec
	weight float64
}

// poseNodes are those of Gauss and Hermite for a normal variable of variance 1,
// with their weights. They give the mean of any polynomial up to degree 9
// exactly (Abramowitz and Stegun 1964, table 25.10, for this density).
var poseNodes = [][2]float64{
	{0, 8. / 15}, {1.355626179974266, .2220759220056126}, {-1.355626179974266, .2220759220056126},
	{2.856970013872806, .01125741132772069}, {-2.856970013872806, .01125741132772069},
}

// undone are the turns, by nodes along the axes of the covariance, by which the
// ideal sites lie off the electrodes: the inverse of how the cap sat.
func (p Pose) undone() ([]weightedTurn, error) {
	c := mat.NewSymDense(3, nil)
	for i := range 3 {
		for j := range i + 1 {
			c.SetSym(i, j, (p.Covariance[i][j]+p.Covariance[j][i])/2)
		}
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(c, true) {
		return nil, errors.New("the covariance of the pose has no axes: expected finite numbers in rad²")
	}
	var axes mat.Dense
	eigen.VectorsTo(&axes)
	var spread [3]r3.Vec
	for k, v := range eigen.Values(nil) {
		spread[k] = r3.Scale(math.Sqrt(max(0, v)), r3.Vec{X: axes.At(0, k), Y: axes.At(1, k), Z: axes.At(2, k)})
	}
	var out []weightedTurn
	for _, a := range poseNodes {
		for _, b := range poseNodes {
			for _, c := range poseNodes {
				w := r3.Add(p.Turn, r3.Add(r3.Scale(a[0], spread[0]), r3.Add(r3.Scale(b[0], spread[1]),
					r3.Scale(c[0], spread[2]))))
				out = append(out, weightedTurn{r3.Scale(-1, w), a[1] * b[1] * c[1]})
			}
		}
	}
	return out, nil
}

// Errors are what the placement of the electrodes and the interpolation between
// them add to the error of a reading at the ideal sites, of each latency: the
// spline goes through the electrodes as if they were in their places, and is
// read where the pose has the ideal sites among them. Placement is the root
// mean square change of the reading over the poses that the covariance allows,
// by quadrature, so that a field which bends counts as it does; the gradient
// alone would tell too little. Interpolation is the error of the spline at the
// places read, without the noise of the electrodes, over the same poses: at an
// electrode that is in its place it is zero. Sampling is left at zero.
func (p Pose) Errors(spline *topo.Spline, c *topo.Coefficients, rough *topo.Roughness,
	r Reading) ([]Uncertainty, error) {
	placement, err := p.PlacementErrors(spline, c, r)
	if err != nil {
		return nil, err
	}
	ignorance, err := spline.IgnoranceOf(r.Moved(Turned(r3.Scale(-1, p.Turn))).Places, r.Weights)
	if err != nil {
		return nil, err
	}
	out := make([]Uncertainty, len(rough.Variances))
	for j := range out {
		out[j].Placement = placement[j]
		out[j].Interpolation = ignorance.OfField(rough.Variances[j])
	}
	return out, nil
}

// PlacementErrors are the root mean square changes of a reading over the poses
// that the covariance allows, of each latency.
func (p Pose) PlacementErrors(spline *topo.Spline, c *topo.Coefficients, r Reading) ([]float64, error) {
	poses, err := p.undone()
	if err != nil {
		return nil, err
	}
	turns := []r3.Vec{r3.Scale(-1, p.Turn)}
	for _, x := range poses {
		turns = append(turns, x.turn)
	}
	changes := r.Changes(spline, c, turns)
	_, latencies := changes.Dims()
	out := make([]float64, latencies)
	for j := range out {
		for k, x := range poses {
			d := changes.At(k+1, j) - changes.At(0, j)
			out[j] += x.weight * d * d
		}
		out[j] = math.Sqrt(out[j])
	}
	return out, nil
}
