package contrast

import "math"

// An Uncertainty is what the error of a reading is made of: standard errors in
// µV that know nothing of each other.
type Uncertainty struct {
	Sampling      float64 // of the mean over epochs or people
	Interpolation float64 // of the spline between the electrodes
	Placement     float64 // of where the electrodes were
}

// Total is the standard error of all three.
func (u Uncertainty) Total() float64 {
	return math.Sqrt(u.Sampling*u.Sampling + u.Interpolation*u.Interpolation + u.Placement*u.Placement)
}

// normal is half of the 95 % interval of a normal variable, in standard
// deviations.
const normal = 1.959963984540054

// half is half of the 95 % interval of a mean of n: by t for what was estimated
// from n, and as of a normal variable for the rest.
func (u Uncertainty) half(n int) float64 {
	s := halfInterval(n) * u.Sampling
	i, p := normal*u.Interpolation, normal*u.Placement
	return math.Sqrt(s*s + i*i + p*p)
}

// Shares are the parts of noise, interpolation and placement in the square of
// the interval of a mean of n.
func (u Uncertainty) Shares(n int) (noise, interpolation, placement float64) {
	whole := u.half(n) * u.half(n)
	share := func(half float64) float64 { return half * half / whole }
	return share(halfInterval(n) * u.Sampling), share(normal * u.Interpolation), share(normal * u.Placement)
}
