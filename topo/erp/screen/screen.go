package screen

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"calotte/layout"
	"calotte/topo/erp/internal/stat"
	"calotte/topo/measure"
)

// Marks of a bad electrode, see [Screen].
const (
	Flat      = "flat"
	Noisy     = "noisy"
	Buzzing   = "high frequencies"
	Unlike    = "unlike its neighbours"
	Exchanged = "exchanged"
)

// A Screen looks for bad electrodes in pieces of a recording, such as its
// epochs or its seconds: potentials as recorded, all against one reference. Of
// each piece the mean of each site is taken off, so that slow drifts count for
// little. It keeps sums only: its memory does not grow with the recording. Make
// one with NewScreen.
//
// # Marks
//
// With sd the standard deviation of a piece, buzz that of the differences
// between neighbouring samples (which weighs a frequency f with 2 sin(πf/rate):
// the fast count most), and the mean of their logarithms over the pieces, so
// that a few bursts do not decide, a site is
//
//   - flat, when its sd is below 0.5 µV in more than half of the pieces (an
//     amplifier's own noise is about that, common practice, no source);
//   - noisy, when the logarithm of its sd lies more than [Screen.Threshold] robust
//     deviations, z = (x − median)/(1.4826 MAD), above the median of all sites that
//     are not flat, and the spline through the others explains less than half of
//     its variance: blinks are loud at the forehead, but at all of it;
//   - of high frequencies, when the logarithm of its buzz lies as far above; that
//     may also be muscle under a sound electrode;
//   - exchanged with another, when exchanging the two cuts the error of leaving
//     one out, see below;
//   - unlike its neighbours, when the logarithm of its leave-one-out error cᵢ/Bᵢᵢ by
//     the spline of order 4 through the sites not marked so far lies as far above,
//     as a multiple of 1/√Bᵢᵢ: a site at the edge is predicted worse (for B see
//     topo.Spline.LeaveOneOut; G. Wahba 1990).
//
// Exchanges are looked for first and the channels put right before the rest.
// The spline's errors are taken from the sites' covariance, in which each piece
// counts alike: it is divided by the median over sites of the piece's
// variances. For the last mark it is divided by their mean instead, since a
// piece in which a few sites are loud together, as the forehead in a blink,
// tells little of what a sound electrode there would show.
//
// # Exchanged electrodes
//
// For each pair of sites the channels are exchanged and the mean over sites of
// the logarithm of the leave-one-out variance is computed anew. Of the pairs in
// which each of the two channels is better explained in its new place than in
// its old one, the one that cuts the mean most is suspected, if the variances
// of the two fall by a factor of [Screen.Relief] in the geometric mean; then
// the search goes on with the channels put right, until none is. (A noisy
// channel is less in the way at the edge of the cap, but no better explained
// there; one that is noisy there as well is taken to be noisy where it was.)
//
// Neighbours look alike, so that an exchange of two of them may stay unseen: of
// pairs exchanged in two open recordings of 64 sites, 67 % were found below 80
// mm, 96 % beyond, and none where nothing was exchanged. A whole mirror, every
// left channel in place of its right one, cannot be seen so at all: it is as
// smooth as the truth. Only something that is known to be on one side tells it.
type Screen struct {
	Threshold float64 // robust deviations that make a mark; NewScreen says 5
	Relief    float64 // of an exchange; NewScreen says 2

	sites      []layout.Site
	pieces     int
	flat       []int         // pieces in which the site is flat
	sd, buzz   []float64     // sums of logarithms over the pieces where it is not
	covariance *mat.SymDense // sum of the pieces' covariances over the median variance
	even       *mat.SymDense // the same over the mean variance
}

const (
	flatBelow       = 0.5 // µV
	unexplained     = 0.5 // share of the variance
	usualThreshold  = 5
	usualRelief     = 2
	normalDeviation = 1.4826 // sd over MAD of normal data
)

// New prepares for sites at these places, five or more.
func New(sites []layout.Site) (*Screen, error) {
	if len(sites) < 5 {
		return nil, fmt.Errorf("%d sites are too few to tell which is bad: expected 5 or more", len(sites))
	}
	n := len(sites)
	return &Screen{
		Threshold: usualThreshold, Relief: usualRelief, sites: sites,
		flat: make([]int, n), sd: make([]float64, n), buzz: make([]float64, n),
		covariance: mat.NewSymDense(n, nil),
		even:       mat.NewSymDense(n, nil),
	}, nil
}

// Add takes one piece, site × sample in µV, of two samples or more. Pieces in
// which more than half of the sites are flat tell nothing and are left out, and
// so are pieces that hold anything but numbers.
func (s *Screen) Add(piece [][]float64) {
	n := len(s.sites)
	samples := len(piece[0])
	centred := mat.NewDense(n, samples, nil)
	sd, variances := make([]float64, n), make([]float64, n)
	dead := 0
	for i, row := range piece[:n] {
		variances[i] = centre(centred.RawRowView(i), row)
		sd[i] = math.Sqrt(variances[i])
		if sd[i] < flatBelow {
			dead++
		}
		if math.IsNaN(variances[i]) || math.IsInf(variances[i], 0) {
			return
		}
	}
	if samples < 2 || 2*dead > n {
		return
	}
	s.pieces++
	for i := range sd {
		if sd[i] < flatBelow {
			s.flat[i]++
			continue
		}
		s.sd[i] += math.Log(sd[i])
		s.buzz[i] += math.Log(max(buzzOf(piece[i]), 1e-3*flatBelow))
	}
	s.even.SymRankK(s.even, 1/(float64(samples)*stat.Mean(variances)), centred)
	s.covariance.SymRankK(s.covariance, 1/(float64(samples)*measure.Median(variances)), centred)
}

// centre writes the row without its mean and returns its variance.
func centre(to, row []float64) float64 {
	n, mean, squares := float64(len(row)), 0.0, 0.0
	for _, x := range row {
		mean += (x - row[0]) / n
	}
	mean += row[0]
	for t, x := range row {
		to[t] = x - mean
		squares += to[t] * to[t]
	}
	return squares / n
}

// buzzOf is the root mean square of the differences between neighbours.
func buzzOf(row []float64) float64 {
	squares := 0.0
	for t := 1; t < len(row); t++ {
		squares += (row[t] - row[t-1]) * (row[t] - row[t-1])
	}
	return math.Sqrt(squares / float64(len(row)-1))
}

// A Mark is something found wrong with a site.
type Mark struct {
	Site   string
	Reason string
	With   string // the other site, of two that seem exchanged

	// Value is the share of pieces in which a flat site is flat; the
	// typical sd of a noisy site, and the typical root mean square step
	// from sample to sample of one with high frequencies, both in µV; for
	// one unlike its neighbours the sd of its leave-one-out error over the
	// median sd of all sites; of an exchange the factor by which undoing it
	// cuts the two sites' leave-one-out variances.
	Value float64

	// Z is how many robust deviations the site lies above the median; NaN
	// where that is not the measure.
	Z float64
}

// String says it in words: "F6: noisy (sd 48 µV, 9.1 deviations above the
// median)".
func (m Mark) String() string {
	switch m.Reason {
	case Flat:
		return fmt.Sprintf("%s: flat (%.0f %% of the time)", m.Site, 100*m.Value)
	case Exchanged:
		return fmt.Sprintf("%s and %s: exchanged, it seems (put back, their errors fall to 1/%.2g)", m.Site,
			m.With,
			m.Value)
	case Unlike:
		return fmt.Sprintf("%s: unlike its neighbours (error %.2g times the median sd, %.1f deviations above "+
			"the median)", m.Site, m.Value, m.Z)
	}
	return fmt.Sprintf("%s: %s (%.3g µV, %.1f deviations above the median)", m.Site, m.Reason, m.Value, m.Z)
}
