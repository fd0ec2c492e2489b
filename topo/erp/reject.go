package erp

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"calotte/topo/erp/internal/list"
	"calotte/topo/erp/reject"
	"calotte/topo/unit"
)

// A Reject says which epochs are not averaged. Repaired sites are not asked.
type Reject struct {
	Swing    unit.Voltage       // largest peak-to-peak amplitude at any site; zero: no limit
	Robust   bool               // a limit on it for each site by [reject.RobustLimits], in place of Swing
	Step     unit.Voltage       // largest step at any site between neighbouring halves of StepOver; zero: no limit
	StepOver unit.Time          // zero: 200 ms
	Flat     unit.Time          // a site may not stand still for so long, as recorded; zero: it may
	Clipped  bool               // no site may stay at the end of its range, as recorded
	Exclude  []reject.Exclusion // by a person
}

const (
	usualStepOver  = 0.2 // s
	flatEpoch      = 0.5 // µV, peak to peak; a digital step where that is larger
	clippedSamples = 3   // on end that make a clipping: two may be a peak that just fits
)

func (r Reject) check() error {
	if !(r.Swing >= 0) {
		return fmt.Errorf("rejection above %v: expected a positive amplitude such as 150uV", r.Swing)
	}
	if !(r.Step >= 0) {
		return fmt.Errorf("rejection of steps above %v: expected a positive amplitude such as 50uV", r.Step)
	}
	if !(r.Flat >= 0) || !(r.StepOver >= 0) {
		return fmt.Errorf("rejection over %v: expected a positive time such as 200ms", min(r.Flat, r.StepOver))
	}
	return nil
}

// rules are those of a recording: on epochs as recorded, and on cleaned ones.
type rules struct {
	recorded, cleaned []reject.Rule
	swing             reject.Swing   // of cleaned ones, whose amplitudes the chain knows
	clipped           reject.Clipped // counted, whether it rejects or not
}

// rules makes the rules for a recording.
func (r Reject) rules(pl *plan) rules {
	var out rules
	m := pl.montage
	out.clipped = reject.NewClipped(list.Pick(pl.Signals, m.Signals), clippedSamples)
	if samples := int(math.Round(float64(r.Flat) * pl.window.Rate)); r.Flat > 0 {
		limits := make(reject.Limits, len(m.Signals))
		for i, s := range list.Pick(pl.Signals, m.Signals) {
			// In the signal's own unit, with room for the rounding
			// of a step.
			limits[i] = flatEpoch / m.Gains[i]
			if step := 1.001 * s.Step(); step > limits[i] {
				limits[i] = step
			}
		}
		out.recorded = append(out.recorded, reject.Flat{Limits: limits, Samples: max(2, samples)})
	}
	if r.Clipped {
		out.recorded = append(out.recorded, out.clipped)
	}
	if r.Swing > 0 {
		out.swing.Limits = reject.Limits{float64(r.Swing)}
	}
	if r.Step > 0 {
		over := r.StepOver
		if over == 0 {
			over = usualStepOver
		}
		out.cleaned = append(out.cleaned,
			reject.Step{Limits: reject.Limits{float64(r.Step)},
				Half: max(1, int(math.Round(float64(over)*pl.window.Rate/2)))})
	}
	return out
}

// describe says the rules in words, with the limits that were found in the
// data.
func (r Reject) describe(found reject.Limits) string {
	var texts []string
	if r.Swing > 0 {
		texts = append(texts, fmt.Sprintf("above %g µV from peak to peak", float64(r.Swing)))
	}
	if len(found) > 0 {
		text := fmt.Sprintf("above the median + %d × %g median absolute deviations of the site's "+
			"peak-to-peak amplitudes", reject.UsualDeviations, reject.NormalDeviation)
		// A site that stands still has no limit.
		if finite := slices.DeleteFunc(slices.Clone(found),
			func(x float64) bool { return math.IsInf(x, 1) }); len(finite) > 0 {
			text += fmt.Sprintf(" (%.0f to %.0f µV)", slices.Min(finite), slices.Max(finite))
		}
		texts = append(texts, text)
	}
	if r.Step > 0 {
		over := r.StepOver
		if over == 0 {
			over = usualStepOver
		}
		texts = append(texts, fmt.Sprintf("with a step above %g µV between the halves of %v", float64(r.Step),
			over))
	}
	if r.Flat > 0 {
		texts = append(texts, fmt.Sprintf("with a flat line of %v", r.Flat))
	}
	if r.Clipped {
		texts = append(texts, fmt.Sprintf("with %d samples on end at the end of the range", clippedSamples))
	}
	if len(r.Exclude) > 0 {
		texts = append(texts, "excluded by a person")
	}
	return strings.Join(texts, "; ")
}
