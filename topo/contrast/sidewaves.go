package contrast

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/gonum/stat"

	"calotte/topo"
	"calotte/topo/erp/average"
)

// SideWaves are the two sides of a pair over time, a value a sample in µV.
type SideWaves struct {
	Left, Right, Difference []float64 // right minus left
	Band                    []float64 // half of the 95 % interval of the difference by t; nil: not known
}

// Waves are those of a pair among the sample's sites. The band is over its
// units.
func (s Sample) Waves(p SidePair) SideWaves {
	w := SideWaves{Left: p.Left.Wave(s.Average.Mean), Right: p.Right.Wave(s.Average.Mean),
		Difference: less(s.Average, p)}
	n := len(s.Units)
	if n < 2 {
		return w
	}
	half := halfInterval(n) / math.Sqrt(float64(n))
	var each [][]float64
	for _, u := range s.Units {
		each = append(each, less(u, p))
	}
	w.Band = make([]float64, len(w.Difference))
	column := make([]float64, n)
	for i := range w.Band {
		for k := range each {
			column[k] = each[k][i]
		}
		w.Band[i] = half * stat.StdDev(column, nil)
	}
	return w
}

// less is right minus left over time.
func less(a *average.Average, p SidePair) []float64 {
	out := p.Right.Wave(a.Mean)
	for i, left := range p.Left.Wave(a.Mean) {
		out[i] -= left
	}
	return out
}

// MirroredField is the field at each site of a spline less that at the mirrored
// place, site × column in µV, where the field is that of amplitudes at the
// sites, of the same shape. It is read from the spline: the mirrored place need
// not have an electrode.
func MirroredField(spline *topo.Spline, amplitudes mat.Matrix) (*mat.Dense, error) {
	coefficients, err := spline.Solve(amplitudes)
	if err != nil {
		return nil, err
	}
	var here, mirrored []r3.Vec
	for _, s := range spline.Sites() {
		here, mirrored = append(here, s.Position), append(mirrored, mirror(s.Position))
	}
	difference := spline.Interpolate(here, topo.Potential, coefficients)
	difference.Sub(difference, spline.Interpolate(mirrored, topo.Potential, coefficients))
	return difference, nil
}
