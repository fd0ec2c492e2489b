package layout

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"
)

// A SitePair is two sites that mirror each other, whatever their names.
type SitePair struct {
	Left, Right string
	Off         float64 // from the mirror image of one to the other, mm
}

// Symmetry sorts sites by their mirror images.
type Symmetry struct {
	Pairs    []SitePair // in the order of the left sites
	Midline  []string   // sites that are their own mirror image
	Unpaired []string   // sites whose mirror image has no site near it
}

// GeometricPairs finds mirror pairs by position, for sites whose names say
// nothing. The mirror is the plane x = 0 of head coordinates. Two sites are a pair
// where each is the nearest to the other's mirror image, and no farther from it
// than the tolerance in mm; 10 mm suit 64 electrodes (common practice, no source).
// A site nearest to its own image is on the midline.
func GeometricPairs(sites []Site, tolerance float64) (Symmetry, error) {
	if err := checkPoints(sites); err != nil {
		return Symmetry{}, err
	}
	if !(tolerance > 0) {
		return Symmetry{}, fmt.Errorf("tolerance %g mm of mirror pairs: expected more than 0, such as 10 mm", tolerance)
	}
	nearest := make([]int, len(sites))
	off := make([]float64, len(sites))
	for i, s := range sites {
		nearest[i], off[i] = nearestTo(LeftRight.apply(s.Position), sites)
	}
	var found Symmetry
	for i, s := range sites {
		j := nearest[i]
		switch {
		case nearest[j] != i || off[i] > tolerance:
			found.Unpaired = append(found.Unpaired, s.Name)
		case i == j:
			found.Midline = append(found.Midline, s.Name)
		case s.Position.X < sites[j].Position.X:
			found.Pairs = append(found.Pairs, SitePair{s.Name, sites[j].Name, off[i]})
		}
	}
	return found, nil
}

// nearestTo returns the first of the sites at the least distance from a point.
func nearestTo(p r3.Vec, sites []Site) (index int, distance float64) {
	distance = r3.Norm(r3.Sub(sites[0].Position, p))
	for i, s := range sites {
		if d := r3.Norm(r3.Sub(s.Position, p)); d < distance {
			index, distance = i, d
		}
	}
	return index, distance
}
