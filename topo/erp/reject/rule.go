package reject

import "math"

// Reasons that rules give, beside [PeakToPeak].
const (
	StepReason    = "step"
	FlatReason    = "flat"
	ClippedReason = "clipped"
)

// A Rule says which epochs of a site are unfit. Rules do not change and may be
// used from several goroutines.
//
// [Flat] and [Clipped] are for epochs as recorded: a filter makes a flat line and
// a clipped wave look alive. [Swing] and [Step] are for epochs after the
// repair, the reference and the baseline.
type Rule interface {
	// Reason is what the rule finds, in a word or two.
	Reason() string

	// Measure returns the number that decides, for the samples of the site
	// with this index, the limit it is held against, and whether it breaks
	// the rule. A sample that is not finite breaks every rule.
	Measure(site int, row []float64) (value, limit float64, broken bool)
}

// Limits are one limit for all sites, or one a site in their order. No limits
// at all are no limit.
type Limits []float64

func (l Limits) of(site int) float64 {
	switch len(l) {
	case 0:
		return math.Inf(1)
	case 1:
		return l[0]
	}
	return l[site]
}
