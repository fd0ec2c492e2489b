package topo

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"

	"calotte/layout"
)

// FindSmoothing returns the λ with the lowest score of generalised
// cross-validation for amplitudes in µV, sites × columns: one for all columns.
// It looks over twelve powers of ten of the kernel's value at a site, and then
// between the neighbours of the best by the golden section. Zero is among what
// it may return, where smoothing does not help.
func FindSmoothing(sites []layout.Site, o Options, amplitudes mat.Matrix) (float64, error) {
	score := func(lambda float64) (float64, error) {
		o.Smoothing = lambda
		s, err := New(sites, o)
		if err != nil {
			return 0, err
		}
		c, err := s.Solve(amplitudes)
		if err != nil {
			return 0, err
		}
		return s.GCV(c)
	}
	interpolating, err := New(sites, o)
	if err != nil {
		return 0, err
	}
	best, err := score(0)
	if err != nil {
		best = math.Inf(1) // an interpolating spline of such sites is refused; a smoothing one may not be
	}
	lambda, unit := 0.0, tables[interpolating.options.Order]().top
	exponent := math.NaN()
	for e := -10.0; e <= 2; e++ {
		if v, err := score(unit * math.Pow(10, e)); err == nil && v < best {
			best, exponent = v, e
		}
	}
	if math.IsNaN(exponent) {
		return lambda, nil
	}
	lo, hi := exponent-1, exponent+1
	const golden = 0.6180339887498949
	for hi-lo > 1e-3 {
		a, b := hi-golden*(hi-lo), lo+golden*(hi-lo)
		va, errA := score(unit * math.Pow(10, a))
		vb, errB := score(unit * math.Pow(10, b))
		if err := errors.Join(errA, errB); err != nil {
			return 0, err
		}
		if va < vb {
			hi = b
		} else {
			lo = a
		}
	}
	return unit * math.Pow(10, (lo+hi)/2), nil
}
