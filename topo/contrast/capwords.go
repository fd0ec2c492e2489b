package contrast

import (
	"fmt"
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
	if a.Over == overEpochs {
		words = append(words, fmt.Sprintf("How this one cap sat is not in the interval: its error is "+
			"%.2f µV (sd) "+
			"for each mm (sd, about each axis) by which caps sit off.", a.Cap.PerMillimetre))
	}
	return words
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

// CapCaution says, of the people of a group, which part of the caps' errors
// their intervals hold; empty of others.
func CapCaution(list []Asymmetry) string {
	if !slices.ContainsFunc(list, func(a Asymmetry) bool { return a.Over == overPeople }) {
		return ""
	}
	return "What differs from cap to cap is in the intervals, through the spread of the people; what all " +
		"caps share " +
		"is not."
}
