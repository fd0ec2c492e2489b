package erp

import (
	"errors"
	"fmt"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/topo"
	"calotte/topo/erp/average"
	"calotte/topo/erp/internal/list"
	"calotte/topo/erp/montage"
)

// A Repair says which sites are replaced by the spline of the others.
type Repair struct {
	Sites    []layout.Name
	Marked   bool           // those whose signals are marked bad
	Found    bool           // those in which a [screen.Screen] finds a fault
	Excluded bool           // those that a [reject.Exclusion] names, in its epoch alone
	Each     float64        // share of the sites that may be repaired in an epoch in which they depart; zero: none
	Surface  layout.Surface // where the sites are
}

// Reasons for which a site is repaired, beside those of a [screen.Mark].
const (
	AskedFor  = "asked for"
	MarkedBad = "marked bad"
)

// IsZero reports whether nothing is repaired.
func (r Repair) IsZero() bool {
	return len(r.Sites) == 0 && !r.Marked && !r.Found && !r.Excluded && r.Each == 0
}

// names reports whether the label is that of a site to repair.
func (r Repair) names(label string) bool {
	l, err := layout.ParseLabel(label)
	return err == nil && slices.Contains(r.Sites, l.Site)
}

// known are the sites of a recording that are to be repaired whatever its
// samples are.
func (r Repair) known(in Input, m *montage.Montage) ([]average.Repaired, error) {
	if _, err := m.Find(r.Sites); err != nil {
		return nil, err
	}
	var out []average.Repaired
	for k, s := range r.Sites {
		if slices.Contains(r.Sites[:k], s) {
			return nil, fmt.Errorf("site %q is given twice", s)
		}
		out = append(out, average.Repaired{Site: string(s), Reason: AskedFor, Source: in.Name})
	}
	if !r.Marked {
		return out, nil
	}
	for _, i := range in.Bad {
		if l, err := layout.ParseLabel(in.Signals[i].Label); err == nil && slices.Contains(m.Names, l.Site) &&
			!slices.Contains(r.Sites, l.Site) {
			out = append(out, average.Repaired{Site: string(l.Site), Reason: MarkedBad, Source: in.Name})
		}
	}
	return out, nil
}

// repairedSites are the names of what is repaired, each once.
func repairedSites(repaired []average.Repaired) []layout.Name {
	var names []layout.Name
	for _, r := range repaired {
		names = list.AppendNew(names, layout.Name(r.Site))
	}
	return names
}

// A patch replaces one site by a weighted sum of others.
type patch struct {
	site    int
	weights []float64 // of each site of the montage; zero for those repaired
}

// newPatches returns what replaces each site to repair: the spherical spline of
// order 4 through the others.
func newPatches(m *montage.Montage, repair []layout.Name, surface layout.Surface) ([]patch, error) {
	if len(repair) == 0 {
		return nil, nil
	}
	if surface == nil {
		return nil, errors.New("where the sites are is not known: give a head")
	}
	bad, err := m.Find(repair)
	if err != nil {
		return nil, err
	}
	if i := slices.IndexFunc(bad, func(i int) bool { return i >= len(m.Sites) }); i >= 0 {
		return nil, fmt.Errorf("%s is no scalp site: only those can be repaired", repair[i])
	}
	var good []int
	for i := range m.Names {
		if !slices.Contains(bad, i) {
			good = append(good, i)
		}
	}
	weights, err := splineWeights(m, good, repair, surface)
	if err != nil {
		return nil, err
	}
	patches := make([]patch, len(bad))
	for k, site := range bad {
		patches[k] = patch{site, make([]float64, len(m.Names))}
		for j, i := range good {
			patches[k].weights[i] = weights(k, j)
		}
	}
	return patches, nil
}

// anyRadius, in mm, is for splines of the potential, which does not depend on
// it.
const anyRadius = 90

// splineWeights returns what the j-th good site contributes to the k-th
// repaired one.
func splineWeights(m *montage.Montage, good []int, repair []layout.Name,
	surface layout.Surface) (at func(k, j int) float64, err error) {
	names := make([]layout.Name, 0, len(m.Names))
	for _, i := range good {
		names = append(names, m.Names[i])
	}
	placed, err := layout.Place(surface, append(names, repair...))
	if err != nil {
		return nil, err
	}
	sites := layout.Sites(placed)
	spline, err := topo.New(sites[:len(good)], topo.Options{Radius: anyRadius})
	if err != nil {
		return nil, err
	}
	var targets []r3.Vec
	for _, s := range sites[len(good):] {
		targets = append(targets, s.Position)
	}
	weights, err := spline.Weights(targets, topo.Potential)
	if err != nil {
		return nil, err
	}
	return weights.At, nil
}

// apply replaces the site's samples; all are signal × sample. Weights of
// repaired sites are zero, so patches may be applied in any order.
func (p patch) apply(samples [][]float64) {
	row := samples[p.site]
	clear(row)
	for i, w := range p.weights {
		if w == 0 {
			continue
		}
		for t, x := range samples[i][:len(row)] {
			row[t] += w * x
		}
	}
}
