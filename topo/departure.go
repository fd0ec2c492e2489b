package topo

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// falseAlarms is how often a map without a fault has a departing site.
const falseAlarms = .01

// A Departure is an electrode whose amplitude is not what the others predict,
// as where it has come loose or was swapped with another.
type Departure struct {
	Site, Column int
	Residual     float64 // µV, above what the others predict
	Z            float64 // the same in units of its own predicted error, of n − 2 degrees of freedom
}

// Departures lists the electrodes that depart from what the others predict, a
// column after the other. The amplitudes are in µV, sites × columns; the
// coefficients must come from this spline's Solve.
//
// What is left of an electrode that the spline has not seen is judged beside
// the error that is predicted there for a reading, with λ and σ² found without
// that electrode: a fault must not hide itself. On a map without faults one
// departs in one of a hundred cases (Šidák's limit of t over all sites). A
// fault must not blame its neighbours or hide another either, so the electrode
// that departs most is taken out and the others are looked at again, while
// eight are left.
func (s *Spline) Departures(amplitudes mat.Matrix, coefficients *Coefficients) ([]Departure, error) {
	rows := make([]int, len(s.sites)) // that are looked at
	for i := range rows {
		rows[i] = i
	}
	var found []Departure
	for len(rows) >= fewForErrors {
		departing, err := s.mostDeparting(amplitudes, coefficients)
		if err != nil {
			return nil, err
		}
		if len(departing) == 0 {
			break
		}
		out := departing[0].Site
		for _, d := range departing {
			d.Site = rows[out]
			found = append(found, d)
		}
		rows = slices.Delete(rows, out, out+1)
		if s, amplitudes, coefficients, err = s.leave(out, amplitudes); err != nil {
			return nil, err
		}
	}
	slices.SortFunc(found, func(a, b Departure) int {
		return cmp.Or(cmp.Compare(a.Column, b.Column), cmp.Compare(a.Site, b.Site))
	})
	return found, nil
}

// leave is the spline without a site.
func (s *Spline) leave(out int, amplitudes mat.Matrix) (*Spline, mat.Matrix, *Coefficients, error) {
	rest, err := New(slices.Delete(slices.Clone(s.sites), out, out+1), s.options)
	if err != nil {
		return nil, nil, nil, err
	}
	_, columns := amplitudes.Dims()
	values := mat.NewDense(len(rest.sites), columns, nil)
	values.Apply(func(i, j int, _ float64) float64 {
		if i >= out {
			i++
		}
		return amplitudes.At(i, j)
	}, values)
	c, err := rest.Solve(values)
	return rest, values, c, err
}

// mostDeparting is the site that departs most at any column, at all columns at
// which it departs.
func (s *Spline) mostDeparting(amplitudes mat.Matrix, coefficients *Coefficients) ([]Departure, error) {
	residuals, err := s.LeaveOneOut(coefficients)
	if err != nil {
		return nil, err
	}
	c, err := s.contrasts()
	if err != nil {
		return nil, err
	}
	field, noise, err := s.leftOut()
	if err != nil {
		return nil, err
	}
	n, columns := residuals.Dims()
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(n - 2)}
	limit := t.Quantile(1 - (1-math.Pow(1-falseAlarms, 1/float64(n)))/2)
	var found []Departure
	most := 0.
	for i, r := range c.without(c.of(amplitudes)) {
		var departing []Departure
		size := 0.
		for column := range columns {
			residual := residuals.At(i, column)
			error := math.Sqrt(r.variances[column] * (field[i] + r.nugget*noise[i]))
			if math.Abs(residual) > limit*error && error > 0 {
				departing = append(departing, Departure{i, column, residual, residual / error})
				size = max(size, math.Abs(residual)/error)
			}
		}
		if size > most {
			found, most = departing, size
		}
	}
	return found, nil
}

// leftOut is, for each site, the variance over σ² of its residual where it is
// left out: aᵀK₂a of the field and aᵀa of the noise, its own among it. The
// residual is aᵀy with a = Bᵢ/Bᵢᵢ and 1ᵀa = 0 (see LeaveOneOut).
func (s *Spline) leftOut() (field, noise []float64, err error) {
	inverse, err := s.inverse()
	if err != nil {
		return nil, nil, err
	}
	n := len(s.sites)
	b := inverse.Slice(0, n, 0, n)
	var bk mat.Dense
	bk.Mul(b, mat.DenseCopyOf(s.roughKernel()))
	field, noise = make([]float64, n), make([]float64, n)
	for i := range n {
		own := b.At(i, i)
		for j := range n {
			v := b.At(i, j) / own
			field[i] += bk.At(i, j) * v / own
			noise[i] += v * v
		}
	}
	return field, noise, nil
}

// A fit is λ and the columns' σ², as a Roughness has them.
type fit struct {
	nugget    float64
	variances []float64
}

// without fits λ and σ² once without each site. To leave site i out of the
// restricted likelihood takes (Py)ᵢ²/Pᵢᵢ from yᵀPy and adds log Pᵢᵢ to the
// logarithm of the determinant, so that all sites are left out together at
// every step of λ.
func (c *contrasts) without(z *mat.Dense) []fit {
	n, _ := c.u.Dims()
	_, columns := z.Dims()
	best := make([]float64, n)
	fits := make([]fit, n)
	for i := range fits {
		best[i] = math.Inf(-1)
		fits[i].variances = make([]float64, columns)
	}
	freedom := float64(len(c.d) - 1)
	scaled, squared := mat.NewDense(len(c.d), columns, nil), make([]float64, len(c.d))
	var square mat.Dense
	square.MulElem(c.u, c.u)
	var diagonal mat.VecDense
	var p mat.Dense
	rest := make([]float64, columns)
	for step := range nuggetSteps + 1 {
		nugget := nuggetAt(float64(step))
		logs := 0.
		for k, d := range c.d {
			logs += math.Log(d + nugget)
			squared[k] = 1 / (d + nugget)
			for j, v := range z.RawRowView(k) {
				scaled.Set(k, j, v/(d+nugget))
			}
		}
		diagonal.MulVec(&square, mat.NewVecDense(len(squared), squared))
		p.Mul(c.u, scaled)
		all := c.squares(z, nugget)
		for i := range n {
			own, sum := diagonal.AtVec(i), 0.
			for j, v := range p.RawRowView(i) {
				rest[j] = max(0, all[j]-v*v/own)
				if rest[j] > 0 {
					sum -= (logs + math.Log(own) + freedom*math.Log(rest[j])) / 2
				}
			}
			if sum > best[i] {
				best[i], fits[i].nugget = sum, nugget
				for j, q := range rest {
					fits[i].variances[j] = q / freedom
				}
			}
		}
	}
	return fits
}
