package erp

import (
	"fmt"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/topo"
)

// repairWeights returns what each site contributes to the repaired ones by the
// spherical spline of order 4 through the others: a row a repaired site, a
// column a site of the montage.
func repairWeights(m *Montage, repair []layout.Name, surface layout.Surface) ([][]float64, error) {
	var good []layout.Name
	for _, n := range m.Names {
		if !slices.Contains(repair, n) {
			good = append(good, n)
		}
	}
	placed, err := layout.Place(surface, slices.Concat(good, repair))
	if err != nil {
		return nil, fmt.Errorf("repairing %s: %w", join(repair), err)
	}
	sites := layout.Sites(placed)
	// A potential does not depend on the radius; the spline asks for one all the same.
	spline, err := topo.New(sites[:len(good)], topo.Options{Radius: 1})
	if err != nil {
		return nil, fmt.Errorf("repairing %s: %w", join(repair), err)
	}
	var targets []r3.Vec
	for _, s := range sites[len(good):] {
		targets = append(targets, s.Position)
	}
	weights, err := spline.Weights(targets, topo.Potential)
	if err != nil {
		return nil, fmt.Errorf("repairing %s: %w", join(repair), err)
	}
	rows := newTable(len(repair), len(m.Names))
	for i := range rows {
		for j, n := range good {
			rows[i][slices.Index(m.Names, n)] = weights.At(i, j)
		}
	}
	return rows, nil
}
