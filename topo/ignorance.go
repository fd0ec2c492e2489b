package topo

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// An Ignorance is how wrong a spline may be at a place, in units of the field's
// variance σ²: its own error there, and what the electrodes' own noise adds.
type Ignorance struct {
	Field float64 // k₂(1) − 2w·k₂(r) + wᵀK₂w
	Noise float64 // wᵀw
}

// Against is the standard deviation, in µV, of the spline from the true field
// where its variance is σ² in µV² and λ the nugget.
func (i Ignorance) Against(variance, nugget float64) float64 {
	return math.Sqrt(variance * (i.Field + nugget*i.Noise))
}

// OfField is Against without the electrodes' own noise, which sampling errors
// hold already.
func (i Ignorance) OfField(variance float64) float64 { return math.Sqrt(variance * i.Field) }

// AgainstReading is the same from what an electrode there would read, which has
// noise of its own.
func (i Ignorance) AgainstReading(variance, nugget float64) float64 {
	return math.Sqrt(variance * (i.Field + nugget*(i.Noise+1)))
}

// Ignorance returns, for each point, how wrong the spline's potential may be
// there under a random field with the kernel k₂, whatever its own order and
// smoothing: v̂(r) = w(r)ᵀy is linear in the amplitudes, with Σw = 1.
//
// Sources: M. L. Stein, "Interpolation of Spatial Data" (1999); G. Wahba,
// "Spline Models for Observational Data" (1990).
func (s *Spline) Ignorance(points []r3.Vec) ([]Ignorance, error) {
	const block = 1024 // points whose weights are in memory at a time
	k := mat.DenseCopyOf(s.roughKernel())
	n, t := len(s.sites), tables[roughExponent]()
	out := make([]Ignorance, len(points))
	for first := 0; first < len(points); first += block {
		of := points[first:min(first+block, len(points))]
		w, err := s.Weights(of, Potential)
		if err != nil {
			return nil, err
		}
		var wk mat.Dense
		wk.Mul(w, k)
		share(len(of), func(i int) {
			near := make([]float64, n)
			kernelRow(near, unit(of[i]), s.units, t)
			weights, spread := w.RawRowView(i), wk.RawRowView(i)
			field, noise := t.top, 0.
			for j, v := range weights {
				field += v * (spread[j] - 2*near[j])
				noise += v * v
			}
			out[first+i] = Ignorance{max(0, field), noise}
		})
	}
	return out, nil
}

// IgnoranceOf returns the same of a linear combination of the potentials at
// points, such as right minus left: shares are what each counts for.
func (s *Spline) IgnoranceOf(points []r3.Vec, shares []float64) (Ignorance, error) {
	w, err := s.Weights(points, Potential)
	if err != nil {
		return Ignorance{}, err
	}
	n, t := len(s.sites), tables[roughExponent]()
	all, units := make([]float64, n), make([]r3.Vec, len(points))
	for i, p := range points {
		units[i] = unit(p)
		for j, v := range w.RawRowView(i) {
			all[j] += shares[i] * v
		}
	}
	out := Ignorance{}
	for i, p := range units {
		among, near := make([]float64, len(points)), make([]float64, n)
		kernelRow(among, p, units, t)
		kernelRow(near, p, s.units, t)
		for j, k := range among {
			out.Field += shares[i] * shares[j] * k
		}
		for j, k := range near {
			out.Field -= 2 * shares[i] * all[j] * k
		}
	}
	row := make([]float64, n)
	for i, e := range s.units {
		kernelRow(row, e, s.units, t)
		for j, k := range row {
			out.Field += all[i] * all[j] * k
		}
		out.Noise += all[i] * all[i]
	}
	out.Field = max(0, out.Field)
	return out, nil
}
