package erp

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"calotte/layout"
	"calotte/topo/recording"
	"calotte/topo/unit"
)

// A Reject says which epochs are not averaged. Repaired sites are not asked.
type Reject struct {
	Swing    unit.Voltage // largest peak-to-peak amplitude at any site; zero: no limit
	Robust   bool         // a limit on it for each site by [RobustLimits], in place of Swing
	Step     unit.Voltage // largest step at any site between neighbouring halves of StepOver; zero: no limit
	StepOver unit.Time    // zero: 200 ms
	Flat     unit.Time    // a site may not stand still for so long, as recorded; zero: it may
	Clipped  bool         // no site may stay at the end of its range, as recorded
	Exclude  []Exclusion  // by a person
}

const (
	usualStepOver  = 0.2 // s
	flatEpoch      = 0.5 // µV, peak to peak; a digital step where that is larger
	clippedSamples = 3   // on end that make a clipping: two may be a peak that just fits
)

// An Exclusion is a person's decision against an epoch, or a site in it.
type Exclusion struct {
	Source string      // name of the recording
	Onset  float64     // of the event as it is marked, s from the start of the recording's header
	Site   layout.Name // empty: all
	Reason string
}

func (x Exclusion) String() string {
	text := fmt.Sprintf("%s at %g s", x.Source, x.Onset)
	if x.Site != "" {
		text += ", " + string(x.Site)
	}
	return text
}

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
	recorded, cleaned []Rule
	swing             Swing   // of cleaned ones, whose amplitudes the chain knows
	clipped           Clipped // counted, whether it rejects or not
}

// rules makes the rules for a recording.
func (r Reject) rules(pl *plan) rules {
	var out rules
	m := pl.montage
	out.clipped = NewClipped(pick(pl.Signals, m.Signals), clippedSamples)
	if samples := int(math.Round(float64(r.Flat) * pl.window.Rate)); r.Flat > 0 {
		limits := make(Limits, len(m.Signals))
		for i, s := range pick(pl.Signals, m.Signals) {
			step := math.Abs((s.PhysicalMax - s.PhysicalMin) / float64(s.DigitalMax-s.DigitalMin))
			// In the signal's own unit, with room for the rounding of a step.
			limits[i] = max(flatEpoch/m.Gains[i], 1.001*step)
		}
		out.recorded = append(out.recorded, Flat{limits, max(2, samples)})
	}
	if r.Clipped {
		out.recorded = append(out.recorded, out.clipped)
	}
	if r.Swing > 0 {
		out.swing.Limits = Limits{float64(r.Swing)}
	}
	if r.Step > 0 {
		over := r.StepOver
		if over == 0 {
			over = usualStepOver
		}
		out.cleaned = append(out.cleaned, Step{Limits{float64(r.Step)}, max(1, int(math.Round(float64(over)*pl.window.Rate/2)))})
	}
	return out
}

// describe says the rules in words, with the limits that were found in the data.
func (r Reject) describe(found Limits) string {
	var texts []string
	if r.Swing > 0 {
		texts = append(texts, fmt.Sprintf("above %g µV from peak to peak", float64(r.Swing)))
	}
	if len(found) > 0 {
		text := fmt.Sprintf("above the median + %d median absolute deviations of the site's peak-to-peak amplitudes", UsualDeviations)
		// A site that stands still has no limit.
		if finite := slices.DeleteFunc(slices.Clone(found), func(x float64) bool { return math.IsInf(x, 1) }); len(finite) > 0 {
			text += fmt.Sprintf(" (%.0f to %.0f µV)", slices.Min(finite), slices.Max(finite))
		}
		texts = append(texts, text)
	}
	if r.Step > 0 {
		over := r.StepOver
		if over == 0 {
			over = usualStepOver
		}
		texts = append(texts, fmt.Sprintf("with a step above %g µV between the halves of %v", float64(r.Step), over))
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

// excludes returns the reason for which a person excludes the trial, and notes in its
// onset the sites to be repaired instead, if they may be.
func (r Reject) excludes(t *Trial, o *onset, pl *plan, repair bool) string {
	for _, x := range r.Exclude {
		if !x.is(t.Source, t.Onset, pl.window.Rate) {
			continue
		}
		switch {
		case x.Site != "" && !slices.Contains(pl.montage.Names, x.Site): // set aside as it is
		case x.Site != "" && repair:
			o.bad = appendNew(o.bad, x.Site)
		default:
			return x.reason()
		}
	}
	return ""
}

func (x Exclusion) reason() string {
	if x.Reason == "" {
		return "excluded"
	}
	return "excluded: " + x.Reason
}

// is reports whether the exclusion means an event, to half a sample.
func (x Exclusion) is(source string, onset, rate float64) bool {
	return x.Source == source && math.Abs(x.Onset-onset) <= 0.5/rate
}

// unmatched refuses exclusions that mean no event of their recording, whatever its
// condition, or no electrode, which a person would believe to be excluded. Those of
// other recordings are left alone: decisions on a whole study may be in one file.
func (r Reject) unmatched(plans []*plan) error {
	var missing []string
	for _, x := range r.Exclude {
		known, matched := false, false
		for _, pl := range plans {
			if pl.holds(x.Source) {
				known, matched = true, matched || pl.matched(x)
			}
		}
		if known && !matched {
			missing = append(missing, x.String())
		}
	}
	if len(missing) > 0 {
		const most = 3
		text := strings.Join(missing[:min(most, len(missing))], "; ")
		if more := len(missing) - most; more > 0 {
			text += fmt.Sprintf(" and %d more", more)
		}
		return fmt.Errorf("excluded, but the recording has no such event or electrode: %s", text)
	}
	return nil
}

// holds reports whether the plan is of a recording with this name, or of epochs from it.
func (pl *plan) holds(source string) bool {
	if pl.set == nil {
		return pl.Name == source
	}
	return slices.ContainsFunc(pl.set.Rows, func(row EpochRow) bool { return row.Source == source })
}

// matched reports whether there is the event that an exclusion of this recording means,
// and its electrode.
func (pl *plan) matched(x Exclusion) bool {
	if x.Site != "" && !slices.Contains(pl.montage.Names, x.Site) && !pl.montage.setAside(x.Site) {
		return false
	}
	if pl.set == nil {
		return slices.ContainsFunc(pl.Events, func(e recording.Event) bool { return x.is(pl.Name, e.Onset, pl.window.Rate) })
	}
	return slices.ContainsFunc(pl.set.Rows, func(row EpochRow) bool { return x.is(row.Source, row.Onset, pl.window.Rate) })
}
