package study

import (
	"fmt"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/topo/forward"
)

// A component is a planted deflection. Its generators are as strong as it
// takes to reach the amplitudes at the sites, one site a generator, in average
// reference. People differ around these values.
type component struct {
	name       string
	course     course
	scatter    float64 // sd of the latency between people, s
	generators []generator
	sites      []string
	amplitudes [2][]float64 // µV at the sites, by condition
	effect     float64      // spread between people of the amplitude within a condition
	measured   []string     // sites and pairs at which the truth is given
}

// planted returns the components. Sizes and latencies are those of textbook
// averages (common practice, no source).
func planted() []component {
	return []component{{
		name:    "P100",
		course:  course{latency: 0.095, rise: 0.014, fall: 0.014},
		scatter: 0.004,
		generators: []generator{
			{r3.Vec{X: -0.42, Y: -0.88, Z: -0.02}, 0.72, r3.Vec{X: -0.42, Y: -0.88, Z: -0.02}},
			{r3.Vec{X: 0.42, Y: -0.88, Z: -0.02}, 0.72, r3.Vec{X: 0.42, Y: -0.88, Z: -0.02}},
		},
		sites:      []string{"O1", "O2"},
		amplitudes: [2][]float64{{3.6, 3.6}, {3.6, 3.6}},
		measured:   []string{"O1", "O2", "PO7", "PO8"},
	}, {
		name:    "N170",
		course:  course{latency: 0.170, rise: 0.017, fall: 0.019},
		scatter: 0.005,
		generators: []generator{
			{r3.Vec{X: -0.78, Y: -0.60, Z: -0.12}, 0.70, r3.Vec{X: 0.75, Y: 0.45, Z: 0.40}},
			{r3.Vec{X: 0.78, Y: -0.60, Z: -0.12}, 0.70, r3.Vec{X: -0.75, Y: 0.45, Z: 0.40}},
		},
		sites:      []string{"P7", "P8"},
		amplitudes: [2][]float64{{-3.5, -5.6}, {-2.8, -3.5}},
		effect:     0.07,
		measured:   []string{"P7", "P8", "P8-P7"},
	}, {
		name:    "P350",
		course:  course{latency: 0.350, rise: 0.030, fall: 0.042},
		scatter: 0.006,
		generators: []generator{
			{r3.Vec{Y: -0.68, Z: 0.73}, 0.33, r3.Vec{Y: -0.68, Z: 0.73}},
		},
		sites:      []string{"Pz"},
		amplitudes: [2][]float64{{6.0}, {5.2}},
		effect:     0.07,
		measured:   []string{"Pz"},
	}}
}

// plantedMoments solves, component by component, for the moments in nA·m that
// cause the planted amplitudes: component, condition, generator.
func plantedMoments(s *scalp) ([][2][]float64, error) {
	var moments [][2][]float64
	for _, part := range planted() {
		dipoles := make([]forward.Dipole, len(part.generators))
		for g, source := range part.generators {
			dipoles[g] = source.dipole()
		}
		rows, err := s.patterns(dipoles)
		if err != nil {
			return nil, err
		}
		cause := mat.NewDense(len(part.sites), len(dipoles), nil)
		for g, row := range rows {
			toAverage(row)
			for i, site := range part.sites {
				cause.Set(i, g, row[s.index[site]])
			}
		}
		var solved [2][]float64
		for k, amplitudes := range part.amplitudes {
			var moment mat.VecDense
			if err := moment.SolveVec(cause, mat.NewVecDense(len(amplitudes), amplitudes)); err != nil {
				return nil, fmt.Errorf("component %s: %w", part.name, err)
			}
			solved[k] = moment.RawVector().Data
		}
		moments = append(moments, solved)
	}
	return moments, nil
}
