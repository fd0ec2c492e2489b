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
	SME     float64 // sd of the resampled scores
	Missing int     // resamples in which there was no score (NaN): they do not count
}

// Bootstrap finds the measurement error of a score of an average, such as the
// amplitude or latency of a peak, by drawing as many epochs as there are, with
// replacement, and scoring their mean (Luck et al. 2021). All sites of an epoch
// are drawn together. The error is the sd over the resamples, with n−1.
//
// The score gets a mean, site × sample, that the next resample overwrites; NaN
// means that there is none. Resample i draws from (seed, i): the result is the
// same for the same seed. The time grows with the sites: [Collection.Select]
// those that the score looks at. Fewer than two resamples with a score are an
// error: the score cannot be relied on then.
func (e *Collection) Bootstrap(resamples int, seed uint64, score func(mean [][]float64) float64) (BootstrapSME, error) {
	switch {
	case e.Len() < 2:
		return BootstrapSME{}, fmt.Errorf("%d epochs: a measurement error needs 2 or more", e.Len())
	case resamples < 2:
		return BootstrapSME{}, fmt.Errorf("%d resamples: expected 2 or more, 1000 as a rule", resamples)
	}
	mean := matrix.New(len(e.Sites), e.Window.Len())
	var scores []float64
	for i := range resamples {
		rng := rand.New(rand.NewPCG(seed, uint64(i)))
		e.weightedMean(mean, draw(rng, e.Len()))
		if s := score(mean); !math.IsNaN(s) {
			scores = append(scores, s)
		}
	}
	if len(scores) < 2 {
		return BootstrapSME{}, errors.New("almost no resample has a score: widen the window in which it " +
			"is searched")
	}
	_, sd := meanAndSD(scores)
	return BootstrapSME{sd, resamples - len(scores)}, nil
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
