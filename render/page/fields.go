package page

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"

	"calotte/render/scalp"
	"calotte/topo"
	"calotte/topo/measure"
)

// fields are what is mapped: potentials, current densities, and the error of
// the interpolation of potentials. The error of sampling between electrodes
// would take what every person or epoch has at every site, which a page is not
// to hold.
func (s *Study) fields(g grid, k *knowing) ([]field, error) {
	potential := field{Name: "potential", Title: "potential", Short: "potential", Unit: "µV"}
	if err := s.fill(&potential, g, topo.Potential, k, s.standardError()); err != nil {
		return nil, err
	}
	density := field{Name: "csd", Title: "current density, estimated by the surface Laplacian",
		Short: "current density", Unit: "µV/cm²"}
	if err := s.fill(&density, g, topo.CurrentDensity, k, 0); err != nil {
		return nil, err
	}
	errors := field{Name: "interpolation", Title: "error of the interpolation", Short: "error of the interpolation",
		Unit: "µV", OneSided: true}
	errors.scale(k.largestError(g), 0)
	return []field{potential, density, errors}, nil
}

// fill prepares a quantity: its kernel, and its scales.
func (s *Study) fill(f *field, g grid, q topo.Quantity, k *knowing, noise float64) error {
	kernel, err := s.kernel(g, q)
	if err != nil {
		return err
	}
	var nodes, sites [][]float64
	for _, row := range kernel {
		nodes, sites = append(nodes, row[:len(g.at)]), append(sites, row[len(g.at):])
	}
	const finer = 1 << 12
	weights, err := pack(nodes, kernelStep(nodes), ofSmooth)
	if err != nil {
		return err
	}
	atSites, err := pack(sites, kernelStep(sites)/finer, 1)
	if err != nil {
		return err
	}
	f.Kernel, f.AtSites = &weights, &atSites
	f.scale(k.needs(g, kernel, q), noise)
	return nil
}

// scale gives a field the scales around the one that holds what it needs.
func (f *field) scale(needs, noise float64) {
	if needs == 0 {
		needs = 1
	}
	for limit := scalp.NiceLimit(needs / 30); limit <=
		scalp.NiceLimit(8*needs); limit = scalp.NiceLimit(limit * 1.01) {
		if limit < needs*(1-1e-9) {
			f.Chosen = len(f.Scales) + 1
		}
		f.Scales = append(f.Scales, scale{limit, scalp.ContourStep(limit, noise)})
	}
}

// needs is the largest magnitude of a quantity at the electrodes with data of
// their own, and what of potentials is surely more where they know the field,
// over all conditions and samples.
func (k *knowing) needs(g grid, kernel [][]float64, q topo.Quantity) float64 {
	most := 0.
	for i, row := range k.rows {
		land := k.land(i)
		points := k.judged(g, land)
		weights := mat.NewDense(len(points), len(kernel), nil)
		for from, of := range kernel {
			for at, point := range points {
				weights.Set(at, from, of[point])
			}
		}
		var values mat.Dense
		values.Mul(weights, row.Values)
		for at, point := range points {
			unsure := 0.
			if q == topo.Potential && point < len(g.at) {
				unsure = 2 * math.Sqrt(land.shape[point])
			}
			for sample, v := range values.RawRowView(at) {
				most = max(most, math.Abs(v)-unsure*k.sigma(i, sample))
			}
		}
	}
	return most
}

// judged are the nodes where a land's electrodes know the field, and behind all
// nodes the electrodes themselves.
func (k *knowing) judged(g grid, land territory) []int {
	var points []int
	for i, at := range g.at {
		if r2.Norm2(at) <= 1 && land.isKnown(i) {
			points = append(points, i)
		}
	}
	for _, site := range land.Own {
		points = append(points, len(g.at)+site)
	}
	return points
}

// largestError is the largest error of the interpolation that is drawn of any
// condition at any sample, in µV.
func (k *knowing) largestError(g grid) float64 {
	most := 0.
	for i, known := range k.known {
		land, largest := k.land(i), 0.
		for node, at := range g.at {
			if r2.Norm2(at) <= 1 && land.isDrawn(node) {
				largest = max(largest, land.shape[node])
			}
		}
		for sample := range known.Rough.Variances {
			most = max(most, k.sigma(i, sample)*math.Sqrt(largest))
		}
	}
	return most
}

// standardError is the median of those that are known, in µV.
func (s *Study) standardError() float64 {
	var all []float64
	for _, c := range s.Conditions {
		for _, row := range c.Errors {
			all = append(all, row...)
		}
	}
	if len(all) == 0 {
		return 0
	}
	return measure.Median(all)
}
