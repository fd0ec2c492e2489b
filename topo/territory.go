package topo

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
)

// What the electrodes know is the better part of a map: there the error of the
// interpolation is at most KnownShare of the largest measured magnitude. Up to
// GuessedShare it is a guess. Beyond, or farther than Overhang outside of the
// electrodes' hull, there is nothing to say.
const (
	KnownShare   = 1. / 8
	GuessedShare = 1. / 3
)

// Overhang is how far, in mm, outside of the electrodes' hull a map may go
// unless asked for otherwise (common practice, no source).
const Overhang = 15

// A Territory tells what the electrodes know of a map from what they do not.
type Territory struct {
	spline   *Spline
	hull     *layout.Hull
	variance float64 // σ², µV²
	nugget   float64
	largest  float64 // µV
	overhang float64 // radians
}

// Territory of maps by this spline, whose roughness has the mean variance given
// in µV². Largest is the largest magnitude in µV at any electrode of all maps
// that share a scale; overhang, in mm, how far beyond the electrodes they go.
func (s *Spline) Territory(variance, nugget, largest, overhang float64) (*Territory, error) {
	var positions []r3.Vec
	for _, site := range s.sites {
		positions = append(positions, site.Position)
	}
	hull, err := layout.NewHull(positions)
	if err != nil {
		return nil, err
	}
	return &Territory{s, hull, variance, nugget, largest, overhang / s.options.Radius}, nil
}

// Standing is what is known at a place: how far the error of the interpolation
// and the distance beyond the electrodes are from what is allowed. The place is
// known where Guess is not above zero, and on paper, without a map, where Paper
// is above it. Between the two it is guessed.
type Standing struct {
	Guess, Paper float64
}

// At returns the standing of points, of any length.
func (t *Territory) At(points []r3.Vec) ([]Standing, error) {
	ignorance, err := t.spline.Ignorance(points)
	if err != nil {
		return nil, err
	}
	return t.Of(points, ignorance), nil
}

// Of is At where the spline's ignorance at the points is known already.
func (t *Territory) Of(points []r3.Vec, ignorance []Ignorance) []Standing {
	standings := make([]Standing, len(points))
	share(len(points), func(i int) {
		error := 0. // of maps without any difference between sites
		if t.largest > 0 {
			error = ignorance[i].Against(t.variance, t.nugget) / t.largest
		}
		standings[i] = Standing{
			Guess: error/KnownShare - 1,
			Paper: max(error/GuessedShare-1,
				(t.outside(points[i])-t.overhang)*t.spline.options.Radius/Overhang),
		}
	})
	return standings
}

// outside is the angle from the hull, or where it is less than half of the
// overhang, perhaps that from the nearest electrode, which is found faster.
func (t *Territory) outside(point r3.Vec) float64 {
	p, nearest := unit(point), -1. // the cosine
	for _, e := range t.spline.units {
		nearest = max(nearest, r3.Dot(p, e))
	}
	if angle := math.Acos(min(nearest, 1)); angle <= t.overhang/2 {
		return angle
	}
	return t.hull.Outside(p)
}
