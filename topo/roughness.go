package topo

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// roughExponent is that of the kernel of the random field: k₂ is K_2.
const roughExponent = 2

// fewForErrors is below how many sites a Roughness is indicative only.
const fewForErrors = 8

// A Roughness says how potentials vary over the scalp: as a random field with
// the spherical kernel of order 2 about a constant mean, σ²k₂, under a nugget
// τ² of noise that each electrode has of its own. See the package comment.
type Roughness struct {
	// Nugget is λ = τ²/σ², one for all columns.
	Nugget float64
	// Variances are σ² of each column, in µV²; zero where all sites have
	// one value.
	Variances []float64
	// Freedom is that of intervals made of it: sites − 1.
	Freedom int
	// Settled says that the likelihood has its maximum within the bounds of
	// the search. Where it has not, the bound was taken: the amplitudes do
	// not tell noise from field.
	Settled bool
	// Indicative says that there are too few sites, under eight, to rely on
	// it.
	Indicative bool
}

// Together is one σ², in µV², for maps that are to be judged alike, as those of
// a sheet or a film: the mean in which each counts by its own σ². So maps with
// little on them, as of a baseline, do not make strong ones look well known.
func Together(variances []float64) float64 {
	sum, squares := 0., 0.
	for _, v := range variances {
		sum += v
		squares += v * v
	}
	if sum == 0 {
		return 0
	}
	return squares / sum
}

// Noisy reports whether all differences between sites look like noise of their
// own, so that the amplitudes do not tell how wrong the field between them is.
func (r *Roughness) Noisy() bool { return !r.Settled && r.Nugget > 1 }

// A contrasts holds the kernel k₂ of a spline's sites in the directions that a
// constant does not change, in which V = K₂ + λI is diagonal: eigenvalues d,
// and as columns of u the directions. With z = uᵀy, the quadratic form of the
// restricted likelihood is yᵀPy = Σ zₖ²/(dₖ+λ), and log|V| + log(1ᵀV⁻¹1) is
// Σ log(dₖ+λ) and a constant.
type contrasts struct {
	d []float64
	u *mat.Dense // site × contrast
}

// newContrasts decomposes HK₂H, with H the matrix that takes the mean off. Its
// least eigenvalue is 0, that of the constant.
func (s *Spline) newContrasts() (*contrasts, error) {
	n := len(s.units)
	k := s.roughKernel()
	means := make([]float64, n)
	all := 0.
	for i := range n {
		for j := range n {
			means[i] += k.At(i, j) / float64(n)
		}
		all += means[i] / float64(n)
	}
	centred := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i + 1 {
			centred.SetSym(i, j, k.At(i, j)-means[i]-means[j]+all)
		}
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(centred, true) {
		return nil, fmt.Errorf("the kernel of %d sites has no eigenvalues: correct their positions", n)
	}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	return &contrasts{eigen.Values(nil)[1:], vectors.Slice(0, n, 1, n).(*mat.Dense)}, nil
}

// roughKernel is K₂ between the sites.
func (s *Spline) roughKernel() *mat.SymDense {
	n, t := len(s.units), tables[roughExponent]()
	k := mat.NewSymDense(n, nil)
	row := make([]float64, n)
	for i, e := range s.units {
		kernelRow(row[:i+1], e, s.units, t)
		for j, v := range row[:i+1] {
			k.SetSym(i, j, v)
		}
	}
	return k
}

// The nugget is sought between these, times k₂(1), on nuggetSteps even steps of
// its logarithm.
const (
	leastNugget = 1e-6
	mostNugget  = 1e3
	nuggetSteps = 45
)

func nuggetAt(step float64) float64 {
	return leastNugget * math.Pow(mostNugget/leastNugget, step/nuggetSteps) / (4 * math.Pi)
}

// Roughness finds how rough amplitudes are, in µV, sites × columns, by
// restricted likelihood: λ is the one under which all columns together are
// likeliest, σ² of each follows. Amplitudes without any difference between
// sites have no roughness: σ² = 0.
//
// Source: H. D. Patterson and R. Thompson, "Recovery of inter-block information
// when block sizes are unequal", Biometrika 58:545 (1971).
func (s *Spline) Roughness(amplitudes mat.Matrix) (*Roughness, error) {
	if _, err := s.largest(amplitudes); err != nil {
		return nil, err
	}
	c, err := s.contrasts()
	if err != nil {
		return nil, err
	}
	z := c.of(amplitudes)
	step, inside := highest(func(step float64) float64 { return c.likelihood(z, nuggetAt(step)) })
	r := &Roughness{Nugget: nuggetAt(step), Freedom: len(s.sites) - 1, Settled: inside,
		Indicative: len(s.sites) < fewForErrors}
	for _, q := range c.squares(z, r.Nugget) {
		r.Variances = append(r.Variances, q/float64(r.Freedom))
	}
	return r, nil
}

// of turns amplitudes into contrasts. Columns that are flat to rounding become
// zero.
func (c *contrasts) of(amplitudes mat.Matrix) *mat.Dense {
	var z mat.Dense
	z.Mul(c.u.T(), amplitudes)
	rows, columns := z.Dims()
	for j := range columns {
		largest, size := 0., 0.
		for i := range rows {
			largest = max(largest, math.Abs(z.At(i, j)))
		}
		for i := range rows + 1 {
			size = max(size, math.Abs(amplitudes.At(i, j)))
		}
		if largest <= 1e-12*size {
			for i := range rows {
				z.Set(i, j, 0)
			}
		}
	}
	return &z
}

// squares is yᵀPy of each column.
func (c *contrasts) squares(z *mat.Dense, nugget float64) []float64 {
	_, columns := z.Dims()
	q := make([]float64, columns)
	for k, d := range c.d {
		for j, v := range z.RawRowView(k) {
			q[j] += v * v / (d + nugget)
		}
	}
	return q
}

// likelihood is the restricted log likelihood of all columns, each with the σ²
// that suits it best, up to a constant.
func (c *contrasts) likelihood(z *mat.Dense, nugget float64) float64 {
	logs := 0.
	for _, d := range c.d {
		logs += math.Log(d + nugget)
	}
	sum := 0.
	for _, q := range c.squares(z, nugget) {
		if q > 0 {
			sum -= (logs + float64(len(c.d))*math.Log(q)) / 2
		}
	}
	return sum
}

// highest is where a function of steps 0 to nuggetSteps is highest, by looking
// at every step and, between the neighbours of the best, by the golden section;
// inside says that it is not at an end.
func highest(of func(step float64) float64) (step float64, inside bool) {
	best, most := 0, math.Inf(-1)
	for k := range nuggetSteps + 1 {
		if v := of(float64(k)); v > most {
			best, most = k, v
		}
	}
	if best == 0 || best == nuggetSteps {
		return float64(best), false
	}
	const golden = 0.6180339887498949
	lo, hi := float64(best-1), float64(best+1)
	for hi-lo > 1e-3 {
		a, b := hi-golden*(hi-lo), lo+golden*(hi-lo)
		if of(a) > of(b) {
			hi = b
		} else {
			lo = a
		}
	}
	return (lo + hi) / 2, true
}
