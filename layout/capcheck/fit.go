package capcheck

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/internal/geometry"
)

// A capFit explains measured places by a swap of the whole cap, exchanges of
// single electrodes, a lift and a turn.
type capFit struct {
	names           []string
	ideal, measured []r3.Vec
	target          []int // the electrode that sits where i belongs: i itself, unless exchanged

	swap       Swap
	exchanges  []Exchange
	rotation   r3.Vec                // rotation vector, radians
	covariance layout.PoseCovariance // of it, without the error of the axes

	height, heightError float64 // by how much the cap is lifted, before it is turned; mm
}

func (f *capFit) run() error {
	f.target = make([]int, len(f.names))
	for i := range f.target {
		f.target[i] = i
	}
	f.findSwap()
	if err := f.fitExchanges(); err != nil {
		return err
	}
	if err := f.fitHeight(); err != nil {
		return err
	}
	if f.height == 0 {
		return nil
	}
	return f.fitExchanges()
}

// fitExchanges fits the turn anew with each exchange that is put right.
func (f *capFit) fitExchanges() error {
	for {
		if err := f.fitTurn(); err != nil {
			return err
		}
		if !f.findExchange() {
			return nil
		}
	}
}

// swapped is where electrode i sits on a cap that is swapped and neither lifted
// nor turned.
func (f *capFit) swapped(i int) r3.Vec { return f.swap.apply(f.ideal[f.target[i]]) }

// unturned is where electrode i sits by the fit but for the turn.
func (f *capFit) unturned(i int) r3.Vec { return lifted(f.swapped(i), f.height) }

// place is where electrode i sits by the fit.
func (f *capFit) place(i int) r3.Vec { return geometry.Turned(f.unturned(i), f.rotation) }

// directions returns the places without and with the turn: measured ones at the
// radius of the ideal, so that distances along the scalp count.
func (f *capFit) directions() (from, to []r3.Vec) {
	for i, m := range f.measured {
		p := f.unturned(i)
		from = append(from, p)
		to = append(to, r3.Scale(r3.Norm(p)/r3.Norm(m), m))
	}
	return from, to
}

// fitTurn finds the rotation and its errors.
func (f *capFit) fitTurn() error {
	from, to := f.directions()
	q, ok := geometry.BestRotation(from, to, false)
	if !ok {
		return errUndetermined
	}
	f.rotation = geometry.RotationVector(q)
	covariance, ok := geometry.TurnCovariance(geometry.TurnedBy(q, from))
	if !ok {
		return errUndetermined
	}
	sum := float64(len(from)) * square(rest(q, from, to))
	f.covariance = layout.PoseCovarianceOf(covariance, sum/float64(2*len(from)-3))
	return nil
}

func square(x float64) float64 { return x * x }

// rigid fits turn and shift, with exchanges and swap put right.
func (f *capFit) rigid() *RigidFit {
	from := make([]r3.Vec, len(f.names))
	for i := range from {
		from[i] = f.swapped(i)
	}
	m, ok := geometry.BestMotion(from, f.measured)
	if !ok {
		return nil
	}
	sum := 0.0
	for i, p := range from {
		sum += r3.Norm2(r3.Sub(f.measured[i], m.Apply(p)))
	}
	return &RigidFit{
		Turn:  r3.Scale(180/math.Pi, geometry.RotationVector(m.Turn)),
		Shift: m.Shift,
		RMS:   math.Sqrt(sum / float64(len(from))),
	}
}
