package head

import (
	"errors"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
)

// Distance returns the length of the shortest path. The path is sought as a
// great circle of the unit sphere, bent to its side by polynomials and mapped
// to the ellipsoid; its length is stationary where Newton's method ends. For a
// head's proportions the error is below 1e-6 mm. Points more than 120° apart,
// seen from the centre of that sphere, are refused.
func (e Ellipsoid) Distance(from, to r3.Vec) (float64, error) {
	u, v := e.ToUnit(from), e.ToUnit(to)
	for _, p := range [2]r3.Vec{u, v} {
		if !(math.Abs(r3.Norm(p)-1) <= onSurface) {
			return 0, errors.New("a point is not on the ellipsoid")
		}
	}
	// Atan2 keeps small angles exact.
	normal := r3.Cross(u, v)
	angle := math.Atan2(r3.Norm(normal), r3.Dot(u, v))
	switch {
	case angle == 0:
		return 0, nil
	case angle > layout.WidestDistance:
		return 0, layout.ErrWide
	}
	normal = r3.Unit(normal)
	w := wave{e, u, r3.Cross(normal, u), normal, angle}
	length, ok := w.shortest()
	if !ok {
		return 0, layout.ErrWide
	}
	return length, nil
}

// A wave is a path on an ellipsoid about the great circle from start, by way of
// ahead, through an angle; its shapes bend it towards side.
type wave struct {
	surface            Ellipsoid
	start, ahead, side r3.Vec
	angle              float64
}

const (
	waveShapes = 8
	waveNodes  = 24
)

// A waveNode is a node of Gauss's quadrature on [0, 1] with the shapes there:
// the integrals of Legendre's polynomials from degree 1 on, which are zero at
// both ends.
type waveNode struct {
	at, weight   float64
	shape, slope [waveShapes]float64
}

var waveRule = sync.OnceValue(func() *[waveNodes]waveNode {
	var rule [waveNodes]waveNode
	var at, weight [waveNodes]float64
	quad.Legendre{}.FixedLocations(at[:], weight[:], 0, 1)
	for i := range rule {
		rule[i].at, rule[i].weight = at[i], weight[i]
		x := 2*at[i] - 1
		before, here := 1.0, x // Legendre's polynomials of degrees k-1 and k
		for k := 1; k <= waveShapes; k++ {
			after := (float64(2*k+1)*x*here - float64(k)*before) / float64(k+1)
			rule[i].shape[k-1] = (after - before) / float64(4*k+2)
			rule[i].slope[k-1] = here
			before, here = here, after
		}
	}
	return &rule
})

// shortest goes downhill by Newton's steps, halved where they would lengthen
// the path; ok is false where that does not end.
func (w wave) shortest() (length float64, ok bool) {
	amplitudes := make([]float64, waveShapes)
	length, slopes := w.length(amplitudes)
	gradient := func(a []float64) []float64 { _, slopes := w.length(a); return slopes }
	for range 40 {
		if floatsWithin(slopes, 1e-10*w.surface.Front) {
			return length, true
		}
		step, ok := newtonStep(gradient, amplitudes, slopes)
		if !ok {
			return 0, false
		}
		if floats.Dot(step, slopes) > 0 { // towards a saddle
			floats.Scale(-1, step)
		}
		next := slices.Clone(amplitudes)
		floats.Add(next, step)
		longer, _ := w.length(next)
		for longer > length*(1+1e-14) && floats.Norm(step, 2) > 1e-12 {
			floats.Scale(0.5, step)
			floats.AddTo(next, amplitudes, step)
			longer, _ = w.length(next)
		}
		amplitudes = next
		length, slopes = w.length(amplitudes)
	}
	return 0, false
}

// length returns the length of the path and its derivatives by the shapes'
// amplitudes.
func (w wave) length(amplitudes []float64) (length float64, slopes []float64) {
	slopes = make([]float64, len(amplitudes))
	rule := waveRule()
	for i := range rule {
		node := &rule[i]
		off, rise := 0.0, 0.0 // the angle to the side and its derivative
		for k, a := range amplitudes {
			off += a * node.shape[k]
			rise += a * node.slope[k]
		}
		sinAlong, cosAlong := math.Sincos(w.angle * node.at)
		along := r3.Add(r3.Scale(cosAlong, w.start), r3.Scale(sinAlong, w.ahead))
		forward := r3.Scale(w.angle, r3.Sub(r3.Scale(cosAlong, w.ahead), r3.Scale(sinAlong, w.start)))
		sin, cos := math.Sincos(off)
		aside := r3.Sub(r3.Scale(cos, w.side), r3.Scale(sin, along))
		back := r3.Add(r3.Scale(cos, along), r3.Scale(sin, w.side))
		velocity := w.surface.FromUnit(r3.Add(r3.Scale(rise, aside), r3.Scale(cos, forward)))
		speed := r3.Norm(velocity)
		length += node.weight * speed
		direction := r3.Scale(node.weight/speed, velocity)
		byRise := r3.Dot(direction, w.surface.FromUnit(aside))
		byOff := -r3.Dot(direction, w.surface.FromUnit(r3.Add(r3.Scale(rise, back), r3.Scale(sin, forward))))
		for k := range slopes {
			slopes[k] += byOff*node.shape[k] + byRise*node.slope[k]
		}
	}
	return length, slopes
}

// Distance returns the length of the shortest path: within one side as on its
// ellipsoid, since a shortest path does not cross the midline twice, else by
// the best point of the midline.
func (h TwoHalves) Distance(from, to r3.Vec) (float64, error) {
	switch {
	case max(from.X, to.X) <= onMidline:
		return h.Left.Distance(from, to)
	case min(from.X, to.X) >= -onMidline:
		return h.Right.Distance(from, to)
	}
	var failed error
	over := func(angle float64) float64 {
		sin, cos := math.Sincos(angle)
		m := r3.Vec{Y: h.Left.Front * cos, Z: h.Left.Up * sin}
		first, err := h.Side(from).Distance(from, m)
		if err != nil {
			failed = err
		}
		second, err := h.Side(to).Distance(m, to)
		if err != nil {
			failed = err
		}
		return first + second
	}
	t := from.X / (from.X - to.X)
	m := r3.Add(r3.Scale(1-t, from), r3.Scale(t, to))
	start := math.Atan2(m.Z/h.Left.Up, m.Y/h.Left.Front)
	const reach = 0.5 // radians to either side of where the chord crosses
	shortest := valley(over, start-reach, start+reach)
	return shortest, failed
}

// valley returns the minimum of a function with one valley, by golden section.
// A distance 1e-4 off the valley's bottom is hardly above it.
func valley(f func(float64) float64, low, high float64) float64 {
	const golden = 0.6180339887498949
	a, b := high-golden*(high-low), low+golden*(high-low)
	fa, fb := f(a), f(b)
	for high-low > 1e-4 {
		if fa < fb {
			high, b, fb = b, a, fa
			a = high - golden*(high-low)
			fa = f(a)
		} else {
			low, a, fa = a, b, fb
			b = low + golden*(high-low)
			fb = f(b)
		}
	}
	return min(fa, fb)
}
