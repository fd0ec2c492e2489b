package rehearse

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/topo/forward"
)

// depth is how far from the centre, as a share of the radius, a source of the
// cortex lies that points outwards (common practice, no source).
const depth = 0.8

// Beneath is what a source beneath a site makes of 1 µV there at every site, in
// µV: a radial dipole in a sphere of three shells, against the mean of all
// sites where that is the reference, else as the sphere has it.
func Beneath(sites []layout.Site, at int, averaged bool) ([]float64, error) {
	if at < 0 || at >= len(sites) {
		return nil, fmt.Errorf("site %d of %d", at, len(sites))
	}
	radius := r3.Norm(sites[at].Position)
	out := r3.Unit(sites[at].Position)
	var places []r3.Vec
	for _, s := range sites {
		places = append(places, s.Position)
	}
	potentials, err := forward.ThreeShells(radius).Potentials(
		[]forward.Dipole{{Position: r3.Scale(depth*radius, out), Moment: r3.Scale(10, out)}}, places)
	if err != nil {
		return nil, err
	}
	values, mean := make([]float64, len(sites)), 0.
	for i := range values {
		values[i] = potentials.At(i, 0)
		mean += values[i] / float64(len(values))
	}
	if !averaged {
		mean = 0
	}
	unit := values[at] - mean
	for i := range values {
		values[i] = (values[i] - mean) / unit
	}
	return values, nil
}
