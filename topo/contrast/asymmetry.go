package contrast

import (
	"math"

	"calotte/topo/unit"
)

// An Asymmetry is what is known of the two sides of a pair at a latency. Sides
// makes them, with NaN for what is not known; in one that is made by hand zero
// is a number like any other.
type Asymmetry struct {
	Condition   string
	At          unit.Latency
	Left, Right string // the sites, as the average writes them
	// Sided says that First and Second are the amplitudes ipsilateral and
	// contralateral to a stimulus. Else they are those at the left and at
	// the right site.
	Sided         bool
	First, Second float64 // µV
	Difference    float64 // second minus first, µV

	N         int     // people or epochs behind the rest; 0: not known
	Over      string  // which of the two
	Centres   string  // that were taken instead of means, see [average.Info.Centres]; empty: none
	SEM       float64 // of the difference, µV
	Low, High float64 // ends of its 95 % interval by t, and of what Placed has, µV
	P         float64 // of this pair by itself, two-sided
	Corrected float64 // the same, over all pairs of the latency
	// Joint is half of the 95 % interval that together with those of the
	// latency's other pairs holds all true differences at once, µV; NaN: not
	// known, or the pair is the only one.
	Joint    float64
	SameSign float64 // share of units whose difference has the sign of the mean

	Repaired bool         // one of the sites, in an average of one person
	Noted    string       // of the skull, in the notes about the head
	Placed   *PlacedError // what the interval is made of; nil: it is the sampling alone
	Cap      CapEffect
	Gaze     *Carried // what looks sideways put into it; nil: not known
}

// A CapEffect says what a cap that sat otherwise has to do with a difference.
type CapEffect struct {
	// By how much the difference would change, in µV, had the whole cap sat
	// 5 mm to the left, 5 mm to the front, or twisted by 3°, the front to
	// the left; or had its left half been stretched by 1 mm at T7.
	ToSide, Forward, Twisted, Stretched float64
	// How a cap must have sat, at the least and in whatever direction, for
	// its sitting so to have made the whole difference; and enough of it
	// for the interval, as wide as it is, to touch zero. The latter is
	// nowhere where the interval holds zero or is not known.
	Explains, Touches CapTurn
	// PerMillimetre is the standard deviation of the difference, in µV,
	// over caps that sit off at random by one of 1 mm about each axis.
	PerMillimetre float64
	// Mirrored is the difference at places that mirror each other exactly,
	// from the spline; NaN where the sites do.
	Mirrored float64
	// Checked is by how much the difference would change had the cap sat
	// where it belongs, by a cap check; NaN: none was made.
	Checked float64
}

// newAsymmetry knows no statistics.
func newAsymmetry() Asymmetry {
	nan := math.NaN()
	return Asymmetry{SEM: nan, Low: nan, High: nan, P: nan, Corrected: nan, Joint: nan, SameSign: nan}
}

// Index is (R−L)/(|R|+|L|), see [LateralIndex].
func (a Asymmetry) Index() float64 { return LateralIndex(a.First, a.Second, a.SEM) }

// LateralIndex is (R−L)/(|R|+|L|). It depends on the reference, and is NaN
// where the two sides have different signs, or where the denominator is less
// than twice the standard error of R−L.
func LateralIndex(left, right, sem float64) float64 {
	sum := math.Abs(left) + math.Abs(right)
	if left*right <= 0 || sum < 2*sem {
		return math.NaN()
	}
	return (right - left) / sum
}
