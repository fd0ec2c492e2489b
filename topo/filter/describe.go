package filter

import (
	"fmt"
	"strings"

	"calotte/topo/unit"
)

// Describe says in two sentences what was done, for the methods of a paper.
func (f *Filter) Describe() string {
	parts := make([]string, len(f.Parts))
	for i, p := range f.Parts {
		parts[i] = p.describe()
	}
	return fmt.Sprintf("Each stretch without a gap was filtered with zero phase: %s. The filters are "+
		"windowed sincs "+
		"(finite impulse response, Hamming window, delay removed) with stop bands at least 50 dB down; "+
		"beyond its ends a stretch was continued by odd reflection.", strings.Join(parts, "; "))
}

func (p Part) describe() string {
	c, t := float64(p.Cutoff), float64(p.Transition)
	if p.Kind == Notch {
		return fmt.Sprintf("notch at %s and its multiples (−6 dB %s on both sides, transitions of %s, %d taps)",
			hertz(c), hertz(notchReach), hertz(t), p.Taps())
	}
	return fmt.Sprintf("%v at %s (−6 dB, transition from %.4g to %s, %d taps)", p.Kind, hertz(c), c-t/2,
		hertz(c+t/2),
		p.Taps())
}

func hertz(f float64) string { return fmt.Sprintf("%.4g Hz", f) }

// A high-pass that is too high for the window that is looked at turns a slow
// wave into an earlier one of the opposite sign: Tanner, Morgan-Short & Luck
// 2015, "How inappropriate high-pass filters can produce artifactual effects
// and incorrect conclusions in ERP studies of language and cognition",
// Psychophysiology 52:997 (from memory). The two limits are this package's
// reading of it.
const (
	highHighPass unit.Frequency = 0.3
	lateWindow   unit.Time      = 0.3
)

// Cautions says, in a sentence each, what to keep in mind when looking at
// epochs of the given window after this filter.
func (f *Filter) Cautions(window unit.Span) []string {
	var all []string
	for _, p := range f.Parts {
		reach := float64(p.Taps()/2) / f.Rate * 1000
		switch {
		case p.Kind == LowPass:
			all = append(all, fmt.Sprintf("The low-pass has zero phase: it moves no peak, but spreads "+
				"each response "+
				"to both sides, "+
				"so that onsets look earlier, by about %.2g ms; traces of it reach %.0f ms.",
				500/float64(p.Cutoff),
				reach))
		case p.Kind == HighPass && p.Cutoff > highHighPass && window.To > lateWindow:
			all = append(all, fmt.Sprintf("A high-pass of %s is above %s and the window ends after "+
				"%.0f ms: slow "+
				"responses lose amplitude "+
				"and leave waves of the opposite sign before and after them.", hertz(float64(p.Cutoff)),
				hertz(float64(highHighPass)), 1000*float64(lateWindow)))
		case p.Kind == Notch && f.stopped(p):
			all = append(all, fmt.Sprintf("The low-pass of %s alone stops %s: leave the notch out.",
				hertz(float64(f.LowPass)), hertz(float64(p.Cutoff))))
		case p.Kind == Notch:
			all = append(all, fmt.Sprintf("The notch rings: an abrupt change leaves a decaying "+
				"oscillation at %s up "+
				"to %.0f ms before and after it.", hertz(float64(p.Cutoff)), reach))
		}
	}
	return all
}

// stopped reports whether the low-pass stops all that a notch is there for.
func (f *Filter) stopped(notch Part) bool {
	for _, p := range f.Parts {
		if p.Kind == LowPass {
			return p.Cutoff+p.Transition/2 <= notch.Cutoff-notchReach
		}
	}
	return false
}
