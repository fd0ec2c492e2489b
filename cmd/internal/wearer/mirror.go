package wearer

import (
	"slices"

	"calotte/layout"
	"calotte/layout/digitised"
)

// Pairs are the mirror pairs among columns of a table: by their names, or,
// where places were measured and some names are no more than labels, by the
// places.
func (w *Head) Pairs(columns []string) []layout.Pair {
	if !w.MirroredByPlace(columns) {
		return layout.Pairs(columns)
	}
	sites, err := w.measuredSites(columns)
	if err != nil {
		return nil
	}
	found, err := digitised.GeometricPairs(sites, digitised.MirrorTolerance(sites))
	if err != nil {
		return nil
	}
	var pairs []layout.Pair
	for _, p := range found.Pairs {
		pairs = append(pairs, layout.Pair{Left: slices.Index(columns, p.Left),
			Right: slices.Index(columns, p.Right)})
	}
	return pairs
}

// MirroredByPlace reports whether Pairs go by the places.
func (w *Head) MirroredByPlace(columns []string) bool {
	if w.Measured == nil {
		return false
	}
	return slices.ContainsFunc(columns, func(c string) bool {
		_, err := layout.Parse(c)
		return err != nil || slices.ContainsFunc(w.Measured.Labels,
			func(l string) bool { return sameSite(l, c) })
	})
}
