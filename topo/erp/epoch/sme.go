package epoch

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"

	"calotte/topo/erp/internal/matrix"
)

// SME is the standardised measurement error of a score that is the mean of the
// epochs' own scores, such as the mean amplitude in a window: sd/√n, with n−1
// in the sd, in the scores' unit (S. J. Luck, A. X. Stewart, A. M. Simmons and
// M. Rhemtulla, "Standardized measurement error: a universal metric of data
// quality for averaged event-related potentials", Psychophysiology 58:e13793,
// 2021). It takes the scores of one person's epochs, two or more.
func SME(scores []float64) (float64, error) {
	n := float64(len(scores))
	if n < 2 {
		return 0, fmt.Errorf("%d epochs: a measurement error needs 2 or more", len(scores))
	}
	_, sd := meanAndSD(scores)
	return sd / math.Sqrt(n), nil
}

func meanAndSD(values []float64) (mean, sd float64) {
	n := float64(len(values))
	for _, x := range values {
		mean += x / n
	}
	squares := 0.0
	for _, x := range values {
		squares += (x - mean) * (x - mean)
	}
	return mean, math.Sqrt(squares / (n - 1))
}

// A BootstrapSME is the measurement error of any score of an average.
type BootstrapSME struct {
	SME     float64 // sd of the resampled scores; NaN: fewer than two resamples had one
	Missing int     // resamples in which there was no score (NaN): they do not count
}

// Bootstrap finds the measurement errors of scores of an average, such as the
// amplitude and the latency of a peak, by drawing as many epochs as there are,
// with replacement, and scoring their mean (Luck et al. 2021). All sites of an
// epoch are drawn together. The errors are the sd over the resamples, with n−1,
// in the order of the scores.
//
// The scores get a mean, site × sample, that the next resample overwrites, and
// are equally many each time; NaN means that there is none. Resample i draws
// from (seed, i): the result is the same for the same seed. The time grows with
// the sites: [Collection.Select] those that the scores look at.
func (e *Collection) Bootstrap(resamples int, seed uint64, scores func(mean [][]float64) []float64) ([]BootstrapSME,
	error) {
	switch {
	case e.Len() < 2:
		return nil, fmt.Errorf("%d epochs: a measurement error needs 2 or more", e.Len())
	case resamples < 2:
		return nil, fmt.Errorf("%d resamples: expected 2 or more, 1000 as a rule", resamples)
	}
	mean := matrix.New(len(e.Sites), e.Window.Len())
	var found [][]float64 // of each score
	for i := range resamples {
		rng := rand.New(rand.NewPCG(seed, uint64(i)))
		e.weightedMean(mean, draw(rng, e.Len()))
		for k, s := range scores(mean) {
			if k == len(found) {
				found = append(found, nil)
			}
			if !math.IsNaN(s) {
				found[k] = append(found[k], s)
			}
		}
	}
	var out []BootstrapSME
	for _, list := range found {
		b := BootstrapSME{math.NaN(), resamples - len(list)}
		if len(list) >= 2 {
			_, b.SME = meanAndSD(list)
		}
		out = append(out, b)
	}
	return out, nil
}

// draw returns how often each of n is among n drawn with replacement.
func draw(rng *rand.Rand, n int) []int {
	counts := make([]int, n)
	for range n {
		counts[rng.IntN(n)]++
	}
	return counts
}

// GroupSME joins the measurement errors of several people: their root mean
// square (Luck et al. 2021), as variances add.
func GroupSME(each []float64) (float64, error) {
	if len(each) == 0 {
		return 0, errors.New("nobody's measurement error is known")
	}
	squares := 0.0
	for _, s := range each {
		squares += s * s
	}
	return math.Sqrt(squares / float64(len(each))), nil
}
