package capcheck

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/internal/geometry"
)

// seenLimit is the standard error in radians, 3° or 5 mm at the ring, beyond
// which a turn is not seen, and unseenTurn that of a turn which nobody looked
// at: 10 mm at the ring (both common practice, no source).
const seenLimit, unseenTurn = 3 * math.Pi / 180, 0.1

// unseenShare is how much of an axis may lie in directions that are not seen
// where its turn counts as seen: a tenth of the length.
const unseenShare = 1e-2

// A tapeFit finds the turn that explains tapes best, and how much too high the
// cap sits all round where opposite tapes tell it. Its unknowns are the three
// angles in radians and, fourth, the height as a share of the scale.
type tapeFit struct {
	lines  []tapeLine
	off    []float64 // measured minus should, mm
	height bool
	scale  float64 // mean radius, mm
	view   tapeView
}

// fitTapes finds turn and height by least squares, by Gauss-Newton steps in the
// directions that the tapes see on a cap in place. A turned cap shows traces of
// the others, which are no measure of them.
func (c *Check) fitTapes(lines []tapeLine, readingError float64) {
	var names []string
	for _, t := range c.Tapes {
		names = append(names, t.String())
	}
	f := tapeFit{lines: lines, height: tellsHeight(names)}
	for i, t := range lines {
		f.off = append(f.off, c.Tapes[i].Off)
		f.scale += t.radius() / float64(len(lines))
	}
	f.view = newTapeView(f.gradients(r3.Vec{}, 0), readingError)
	rotation, height := f.solve()
	c.Covariance = f.view.covariance()
	errors := c.Covariance.Degrees()
	c.Turn = Turn{
		Pitch: f.view.angle(0, rotation.X, errors.X),
		Roll:  f.view.angle(1, rotation.Y, errors.Y),
		Yaw:   f.view.angle(2, rotation.Z, errors.Z),
	}
	c.Height, c.heightError = height, f.scale*math.Sqrt(f.view.variance(3))
	sum := 0.0
	for i, t := range lines {
		rest := c.Tapes[i].Off - t.change(c.Turn.Vector())
		c.Tapes[i].Remains = rest
		sum += rest * rest
	}
	c.RMS = math.Sqrt(sum / float64(len(lines)))
}

func (f *tapeFit) solve() (rotation r3.Vec, height float64) {
	for range 50 {
		rest := mat.NewVecDense(len(f.lines), nil)
		for i, t := range f.lines {
			rest.SetVec(i, f.off[i]-t.moved(lifted(t.to, height), rotation))
		}
		step := f.view.step(f.gradients(rotation, height), rest)
		rotation = r3.Add(rotation, r3.Vec{X: step[0], Y: step[1], Z: step[2]})
		if f.height {
			height += f.scale * step[3]
		}
		if mat.Norm(mat.NewVecDense(len(step), step), 2) < 1e-12 {
			break
		}
	}
	return rotation, height
}

// gradients has a row for each tape.
func (f *tapeFit) gradients(rotation r3.Vec, height float64) *mat.Dense {
	unknowns := 3
	if f.height {
		unknowns = 4
	}
	g := mat.NewDense(len(f.lines), unknowns, nil)
	for i, t := range f.lines {
		to := lifted(t.to, height)
		row := t.gradient(to, rotation)
		values := []float64{row.X, row.Y, row.Z}
		if f.height {
			up := geometry.Turned(r3.Cross(r3.Unit(to), r3.Vec{Z: 1}), rotation)
			values = append(values, f.scale/r3.Norm(to)*r3.Dot(row, up))
		}
		g.SetRow(i, values)
	}
	return g
}

// A tapeView holds the directions of turning, as columns, with the standard
// error that the readings leave in each: the first ones are seen.
type tapeView struct {
	directions *mat.Dense
	errors     []float64 // radians, of those that are seen
}

func newTapeView(gradients *mat.Dense, readingError float64) tapeView {
	var svd mat.SVD
	if !svd.Factorize(gradients, mat.SVDFull) {
		_, unknowns := gradients.Dims()
		return tapeView{directions: mat.DenseCopyOf(mat.NewDiagDense(unknowns,
			slices.Repeat([]float64{1}, unknowns)))}
	}
	view := tapeView{directions: new(mat.Dense)}
	svd.VTo(view.directions)
	for _, value := range svd.Values(nil) {
		if readingError <= seenLimit*value {
			view.errors = append(view.errors, readingError/value)
		}
	}
	return view
}

// step is the change of the unknowns that explains the differences best.
func (v tapeView) step(gradients *mat.Dense, rest *mat.VecDense) []float64 {
	_, unknowns := gradients.Dims()
	step := mat.NewVecDense(unknowns, nil)
	if len(v.errors) == 0 {
		return step.RawVector().Data
	}
	seen := v.directions.Slice(0, unknowns, 0, len(v.errors))
	var reduced mat.Dense
	var along mat.VecDense
	reduced.Mul(gradients, seen)
	if err := along.SolveVec(&reduced, rest); err == nil {
		step.MulVec(seen, &along)
	}
	return step.RawVector().Data
}

// covariance is that of the three angles.
func (v tapeView) covariance() layout.PoseCovariance {
	var c layout.PoseCovariance
	unknowns, _ := v.directions.Dims()
	for k := range unknowns {
		e := v.error(k)
		c = c.PlusTurn(r3.Scale(e, r3.Vec{X: v.directions.At(0, k), Y: v.directions.At(1, k),
			Z: v.directions.At(2, k)}))
	}
	return c
}

func (v tapeView) error(direction int) float64 {
	if direction < len(v.errors) {
		return v.errors[direction]
	}
	return unseenTurn
}

// variance is that of one unknown, 0 where it is none.
func (v tapeView) variance(unknown int) float64 {
	unknowns, _ := v.directions.Dims()
	if unknown >= unknowns {
		return 0
	}
	sum := 0.0
	for k := range unknowns {
		sum += square(v.directions.At(unknown, k) * v.error(k))
	}
	return sum
}

// angle is a component of the turn, known where its axis is seen.
func (v tapeView) angle(axis int, radians, degreesError float64) Angle {
	unknowns, _ := v.directions.Dims()
	unseen := 0.0
	for k := len(v.errors); k < unknowns; k++ {
		unseen += square(v.directions.At(axis, k))
	}
	if unseen > unseenShare || degreesError*math.Pi/180 > seenLimit {
		return Angle{Error: degreesError}
	}
	return Angle{Degrees: radians * 180 / math.Pi, Error: degreesError, Known: true}
}

// ringTapes are the short ways up from the landmarks, by their opposites: a
// turn lengthens one as it shortens the other, so that both too long is no
// turn.
var ringTapes = [...][2]string{{"Nz-Fpz", "Iz-Oz"}, {"LPA-T7", "RPA-T8"}}

// tellsHeight reports whether opposite tapes are both among some.
func tellsHeight(tapes []string) bool {
	return slices.ContainsFunc(ringTapes[:], func(pair [2]string) bool {
		return slices.Contains(tapes, pair[0]) && slices.Contains(tapes, pair[1])
	})
}
