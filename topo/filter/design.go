package filter

import (
	"fmt"
	"math"

	"calotte/topo/unit"
)

// A Design says what a filter is to do. A frequency of zero leaves that part
// out.
type Design struct {
	HighPass unit.Frequency // cut-off, −6 dB
	LowPass  unit.Frequency // cut-off, −6 dB
	Notch    unit.Frequency // mains frequency: stopped with its multiples
}

// IsZero reports whether the design leaves everything out.
func (d Design) IsZero() bool { return d == Design{} }

// Constants of the defaults; the package comment derives them. Hz.
const (
	widestHighPass   = 2.0
	narrowestLowPass = 2.0
	lowPassShare     = 0.25 // of the cut-off
	notchReach       = 1.0  // from the mains frequency to the cut-offs
	notchTransition  = 1.0
	lowestNotch      = 10.0 // below, the stop bands would leave too little between them
)

// mostTaps bounds a filter's length: a quarter of an hour at 1 kHz.
const mostTaps = 1_000_001

// New designs a filter for a sampling rate in Hz.
func New(d Design, rate float64) (*Filter, error) {
	if err := d.check(rate); err != nil {
		return nil, err
	}
	f := &Filter{Design: d, Rate: rate}
	high, low := d.transitions(rate)
	for _, p := range []struct {
		kind       Kind
		cutoff     unit.Frequency
		transition float64
		build      func(cutoff, transition, rate float64) []float64
	}{
		{HighPass, d.HighPass, high, highPass},
		{LowPass, d.LowPass, low, lowPass},
		{Notch, d.Notch, notchTransition, notch},
	} {
		if p.cutoff == 0 {
			continue
		}
		if taps := hammingWidth * rate / p.transition; taps > mostTaps {
			return nil, fmt.Errorf("%v of %v would need %.0f taps at %v Hz, more than %d: %s",
				p.kind, p.cutoff, math.Ceil(taps), rate, mostTaps, p.kind.cure())
		}
		half := p.build(float64(p.cutoff), p.transition, rate)
		f.Parts = append(f.Parts,
			Part{Kind: p.kind, Cutoff: p.cutoff, Transition: unit.Frequency(p.transition), half: half})
	}
	return f, nil
}

func (d Design) check(rate float64) error {
	if !(rate > 0) || math.IsInf(rate, 0) {
		return fmt.Errorf("sampling rate %v Hz: expected a positive number", rate)
	}
	if d.IsZero() {
		return fmt.Errorf("the filter has no cut-off: give a high-pass, a low-pass or a notch")
	}
	for _, p := range []struct {
		kind   Kind
		cutoff unit.Frequency
	}{{HighPass, d.HighPass}, {LowPass, d.LowPass}, {Notch, d.Notch}} {
		c := float64(p.cutoff)
		switch {
		case !(c >= 0) || math.IsInf(c, 0):
			return fmt.Errorf("%v of %v: expected a positive frequency", p.kind, p.cutoff)
		case c >= rate/2:
			return fmt.Errorf("%v of %v: expected a frequency below %v, half the sampling rate",
				p.kind, p.cutoff, unit.Frequency(rate/2))
		}
	}
	switch {
	case d.Notch > 0 && d.Notch < lowestNotch:
		return fmt.Errorf("notch of %v: expected the mains frequency, 50Hz or 60Hz", d.Notch)
	case d.LowPass > 0 && d.HighPass >= d.LowPass:
		return fmt.Errorf("high-pass of %v and low-pass of %v leave nothing: the high-pass has to be "+
			"the lower one",
			d.HighPass, d.LowPass)
	}
	return nil
}

// transitions returns the widths of the transitions of high-pass and low-pass,
// Hz.
func (d Design) transitions(rate float64) (high, low float64) {
	hp, lp := float64(d.HighPass), float64(d.LowPass)
	high = min(hp, widestHighPass, rate/2-hp)
	low = min(max(lowPassShare*lp, narrowestLowPass), lp, rate/2-lp)
	if hp > 0 && lp > 0 {
		high, low = min(high, lp-hp), min(low, lp-hp)
	}
	return high, low
}
