package unmix

import "math"

// What components look like.
const (
	Blink        = "eye: blink"
	Sideways     = "eye: sideways"
	Muscle       = "muscle"
	Heart        = "heart"
	Mains        = "mains"
	OneElectrode = "one electrode"
	Nothing      = "none of these"
)

// Limits of the rules in Look. The traits are published ones, the limits ours:
// they part the components of the demo, whose truth is known, and of two open
// recordings of 64 sites.
const (
	eyeCorrelation = 0.5
	frontShare     = 0.4
	fastShare      = 0.5
	fastSlope      = -0.2
	beatRhythm     = 0.25
	mainsShare     = 0.3
	loneShare      = 0.4 // of the kurtosis that a single row has
	loneKurtosis   = 8   // and at least this
)

// Look says what a component looks like. The first rule that holds decides:
//
//   - an eye: it correlates by 0.5 or more with the vertical eye signal (blink)
//     or the one sideways, whichever is larger (T.-P. Jung et al., Clin
//     Neurophysiol 111:1745, 2000), and two fifths of the squares of its map lie
//     at the forehead and the temples, since a brain that is stronger on one side
//     correlates with the difference of two sites as well;
//   - muscle: half of its power or more lies above 20 Hz, and the spectrum does
//     not fall, its slope being above −0.2 where a brain's is −1 to −2 (E. M.
//     Whitham et al., Clin Neurophysiol 118:1877, 2007: most that the scalp
//     records above 20 Hz is muscle);
//   - mains: three tenths of its power or more;
//   - heart: it comes back at a lag of 0.5 to 1.5 s, with a correlation 0.25 above
//     the usual one;
//   - one electrode: the kurtosis of its map is two fifths of that of a map of a
//     single row or more, and 8 at least (spatial discontinuity; A. Mognon, J. Jovicich, L.
//     Bruzzone & M. Buiatti, Psychophysiology 48:229, 2011).
//
// The references are from memory.
func (t Traits) Look(rows int) string {
	eye := math.Max(known(t.Blink), known(t.Sideways))
	if t.Front < frontShare {
		eye = 0
	}
	switch {
	case eye >= eyeCorrelation && known(t.Blink) == eye:
		return Blink
	case eye >= eyeCorrelation:
		return Sideways
	case t.Fast >= fastShare && t.Slope > fastSlope:
		return Muscle
	case t.Mains >= mainsShare:
		return Mains
	case t.Rhythm >= beatRhythm:
		return Heart
	case t.Kurtosis >= max(loneKurtosis, loneShare*float64(rows)):
		return OneElectrode
	}
	return Nothing
}

// known is the value, or zero where it is not known.
func known(x float64) float64 {
	if math.IsNaN(x) {
		return 0
	}
	return x
}
