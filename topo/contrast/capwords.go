package contrast

import (
	"fmt"
	"math"
	"slices"
)

// capWords say which turn of the cap would explain a difference. What all caps
// of a group share shifts its mean, and what differs from cap to cap is in the
// spread of its people. One person's cap is a single turn, of which the epochs
// know nothing.
func (a Asymmetry) capWords() []string {
	if a.Difference == 0 {
		return nil
	}
	text := fmt.Sprintf("The smallest turn of %s that would explain it: %s at the ring", a.caps(), a.Cap.Explains)
	if a.Cap.Explains.Known() {
		text += " (" + a.Cap.Explains.Direction() + ")"
	}
	if a.Cap.Touches.Known() {
		text += fmt.Sprintf("; at %.1f mm the interval would touch zero", a.Cap.Touches.Slide)
	}
	words := []string{text + "."}
	switch {
	case a.Placed != nil:
		words = append(words, a.placedWords())
	case a.Over == overEpochs:
		words = append(words, fmt.Sprintf("How this one cap sat is not in the interval: its error is "+
			"%.2f µV (sd) "+
			"for each mm (sd, about each axis) by which caps sit off.", a.Cap.PerMillimetre))
	}
	return words
}

// placedWords say what the interval is made of.
func (a Asymmetry) placedWords() string {
	e := a.Placed
	what, from := "placement", e.PoseWords
	if a.Over == overPeople {
		what, from = "placement that all caps share", e.SharedWords
	}
	if math.IsNaN(e.Sampling) {
		return fmt.Sprintf("The error of %s (%s) is %.2f µV (sd), that of interpolation %.2f µV; the noise "+
			"is not known.",
			what, from, e.Placement, e.Interpolation)
	}
	noise, interpolation, placement := e.Shares(a.N)
	text := fmt.Sprintf("The interval, squared, is %.0f %% noise, %.0f %% interpolation and %.0f %% %s (%s)",
		100*noise, 100*interpolation, 100*placement, what, from)
	if a.Over == overPeople {
		text += fmt.Sprintf("; what is each cap's own (%s) makes %.0f %% of the noise", e.PoseWords,
			100*e.OwnShare())
	}
	return text + "."
}

// caps are those that must have sat off for an error that the interval does not
// hold.
func (a Asymmetry) caps() string {
	if a.Over == overPeople {
		return "all caps alike"
	}
	return "the cap"
}

// TurnWords say what the turns beside pairs are, for the notes of a figure.
func (a Asymmetry) TurnWords() string {
	return fmt.Sprintf("Turn: the smallest of %s that would explain the difference, at the ring.", a.caps())
}

// CapCaution says which part of the caps' errors the intervals hold, and that p
// holds none but what is in the spread of the people; empty where the lines of
// the asymmetries say it.
func CapCaution(list []Asymmetry) string {
	switch {
	case slices.ContainsFunc(list, func(a Asymmetry) bool { return a.Placed != nil }):
		return "Intervals hold placement and interpolation, as far as all epochs or all caps share them; p " +
			"and p* do not."
	case slices.ContainsFunc(list, func(a Asymmetry) bool { return a.Over == overPeople }):
		return "What differs from cap to cap is in the intervals, through the spread of the people; what all " +
			"caps share " +
			"is not."
	}
	return ""
}
