package eye

import (
	"errors"
	"maps"
	"slices"

	"gonum.org/v1/gonum/mat"

	"calotte/topo/erp/internal/matrix"
)

// Coefficients are what a person's sites pick up of the eye channels, in µV per
// µV.
type Coefficients struct {
	Rule          BlinkRule
	Rest, Blink   *mat.Dense // site × eye channel
	RestN, BlinkN int        // samples that they rest on
	Shared        bool       // a class had too few samples and took those of all together
}

// Coefficients solves for both classes. It is an error when all samples
// together do not suffice: no eye channel moves, or one is a copy of the
// others.
func (f *Fit) Coefficients() (*Coefficients, error) {
	var each [classes]*eyeMoments
	all := newEyeMoments(f)
	for c := range classes {
		each[c] = f.moments(c)
		all.add(each[c])
	}
	whole, ok := all.solve()
	if !ok {
		return nil, errors.New("the eye channels do not suffice to correct for: too few samples, or a " +
			"channel that " +
			"is flat or a copy of another")
	}
	e := &Coefficients{Rule: f.rule, RestN: f.counts[restClass], BlinkN: f.counts[blinkClass]}
	for c, to := range map[int]**mat.Dense{restClass: &e.Rest, blinkClass: &e.Blink} {
		if *to, ok = each[c].solve(); !ok {
			*to, e.Shared = whole, true
		}
	}
	return e, nil
}

// eyeMoments are a class's sums of deviations from the conditions' averages.
type eyeMoments struct {
	n        int
	totals   []float64  // Σ ė, Σ ẏ
	products *mat.Dense // Σ ė (ė, ẏ)ᵀ
}

func newEyeMoments(f *Fit) *eyeMoments {
	return &eyeMoments{totals: make([]float64, f.eyes+f.sites), products: mat.NewDense(f.eyes, f.eyes+f.sites, nil)}
}

func (m *eyeMoments) add(o *eyeMoments) {
	m.n += o.n
	for i, x := range o.totals {
		m.totals[i] += x
	}
	m.products.Add(m.products, o.products)
}

// moments subtracts the averages: for each condition and sample, with n epochs
// of the class, sums S and averages a,
//
//	Σ (e − a)(y − a') = Σ e·y − a S' − a' S + n a a'
func (f *Fit) moments(class int) *eyeMoments {
	m := newEyeMoments(f)
	m.n = f.counts[class]
	copy(m.totals, f.totals[class])
	m.products.Copy(f.products[class])
	average := matrix.New(f.eyes+f.sites, f.samples)
	for _, condition := range slices.Sorted(maps.Keys(f.averages)) { // one order, one rounding
		s := f.averages[condition]
		s.average(average)
		for i, row := range average {
			sums := s.sums[class][i]
			for t, a := range row {
				m.totals[i] -= float64(s.counts[class][t]) * a
			}
			for k := range f.eyes {
				change := 0.0
				for t, a := range row {
					eye := average[k][t]
					change += float64(s.counts[class][t])*eye*a - eye*sums[t] -
						a*s.sums[class][k][t]
				}
				m.products.Set(k, i, m.products.At(k, i)+change)
			}
		}
	}
	return m
}

// average is that of the epochs outside blinks, sample by sample; of all epochs
// where every one is in a blink.
func (s *eyeSums) average(to [][]float64) {
	for i, row := range to {
		for t := range row {
			sum, n := s.sums[restClass][i][t], s.counts[restClass][t]
			if n == 0 {
				sum, n = s.sums[blinkClass][i][t], s.counts[blinkClass][t]
			}
			row[t] = sum / float64(n)
		}
	}
}

// solve returns the coefficients, site × eye channel, and false when the
// samples do not suffice.
func (m *eyeMoments) solve() (*mat.Dense, bool) {
	eyes, channels := m.products.Dims()
	if m.n < leastForEye*eyes {
		return nil, false
	}
	covariance := mat.NewSymDense(eyes, nil)
	right := mat.NewDense(eyes, channels-eyes, nil)
	n := float64(m.n)
	for k := range eyes {
		for i := range channels {
			product := m.products.At(k, i) - m.totals[k]*m.totals[i]/n
			switch {
			case i >= eyes:
				right.Set(k, i-eyes, product)
			case i >= k:
				covariance.SetSym(k, i, product)
			}
		}
	}
	var factor mat.Cholesky
	if !factor.Factorize(covariance) || !(factor.Cond() < mostAlike) || !(covariance.At(0, 0) > 0) {
		return nil, false
	}
	var b mat.Dense
	if err := factor.SolveTo(&b, right); err != nil {
		return nil, false
	}
	return mat.DenseCopyOf(b.T()), true
}

// mostAlike is the condition number of the eye channels' covariance from which
// they cannot be told apart.
const mostAlike = 1e10

// Correct subtracts from the sites, in place, what they pick up of the eye
// channels, both channel × sample in µV: at each sample the coefficients of its
// class times the eye channels less their levels, as [Fit] defines both. The
// sites keep their levels; the eye channels stay as they are.
//
// What the sites hold beside changes by (b − b̂)·e only, with b − b̂ the error
// of the coefficients: for activity x that is uncorrelated with the eye
// channels about sd(x)/(sd(e) √n) for n independent samples. Eye channels hold
// some of the forehead's EEG as well; what the sites share with that goes, too.
func (c *Coefficients) Correct(sites, eyes [][]float64) {
	blink := c.Rule.Find(eyes[0])
	_, channels := c.Rest.Dims()
	for k := range channels {
		level := levelOf(eyes[k], blink)
		for i, row := range sites {
			rest, lid := c.Rest.At(i, k), c.Blink.At(i, k)
			for t, e := range eyes[k] {
				if blink[t] {
					row[t] -= lid * (e - level)
				} else {
					row[t] -= rest * (e - level)
				}
			}
		}
	}
}
