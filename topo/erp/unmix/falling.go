package unmix

import "math"

// Parts of an octave that are looked up.
const (
	octaveParts  = 64
	partsPerUnit = octaveParts / math.Ln2
)

// An octave holds 2^(−j/octaveParts).
type octave [octaveParts]float64

func newOctave() *octave {
	o := new(octave)
	for j := range o {
		o[j] = math.Exp2(-float64(j) / octaveParts)
	}
	return o
}

// falling is exp(−x) for x ≥ 0, to 2e-13 of itself where that is above 1e-299,
// and zero below. It takes a third of the time of math.Exp.
func (o *octave) falling(x float64) float64 {
	if !(x < 690) {
		return 0
	}
	parts := int64(x*partsPerUnit + 0.5)
	r := float64(parts)*(1/partsPerUnit) - x // at most ln 2/128 on either side of zero
	p := 1 + r*(1+r*(1.0/2+r*(1.0/6+r*(1.0/24+r*(1.0/120)))))
	return o[parts%octaveParts] * p * math.Float64frombits(uint64(1023-parts/octaveParts)<<52)
}
