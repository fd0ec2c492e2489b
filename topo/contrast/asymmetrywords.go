package contrast

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"calotte/layout/head"
	"calotte/topo/inference"
)

// Lines say an asymmetry in a few lines: its numbers, what they mean in words,
// and what a crooked cap has to do with it.
func (a Asymmetry) Lines() []string {
	lines := []string{a.numbers(), "  In words: " + a.Words()}
	if !math.IsNaN(a.Cap.Mirrored) {
		lines = append(lines, fmt.Sprintf("  At places that mirror each other exactly, from the spline: %s µV.",
			Signed(a.Cap.Mirrored)))
	}
	if !math.IsNaN(a.Cap.Checked) {
		lines = append(lines, fmt.Sprintf("  Had the cap sat in its place, as capcheck has it, this "+
			"would be %s µV.",
			Signed(a.Difference+a.Cap.Checked)))
	}
	if text := a.gazeWords(); text != "" {
		lines = append(lines, "  "+text)
	}
	for _, text := range a.capWords() {
		lines = append(lines, "  "+text)
	}
	return lines
}

// numbers are the line that stands first.
func (a Asymmetry) numbers() string {
	text := fmt.Sprintf("%s–%s  %s, %s", a.Left, a.Right, a.Condition, a.At.Label())
	if a.N > 0 {
		text += fmt.Sprintf("   %d %s", a.N, a.Over)
	}
	if a.Centres != "" {
		text += ", " + a.Centres
	}
	names := [3]string{"left", "right", "right−left"}
	if a.Sided {
		names = [3]string{"ipsilateral", "contralateral", "contralateral−ipsilateral"}
	}
	text += fmt.Sprintf("   %s %s   %s %s   %s %s", names[0], Signed(a.First), names[1], Signed(a.Second), names[2],
		Signed(a.Difference))
	if !math.IsNaN(a.Low) {
		text += fmt.Sprintf(" [%s, %s]", Signed(a.Low), Signed(a.High))
	}
	if !math.IsNaN(a.Corrected) {
		text += fmt.Sprintf("   p* %.2g", a.Corrected)
	}
	if !math.IsNaN(a.Joint) {
		text += fmt.Sprintf(", all pairs at once [%s, %s]", Signed(a.Difference-a.Joint), Signed(a.Difference+a.Joint))
	}
	if a.Repaired {
		text += "   one side is repaired"
	}
	return text
}

// Sentence says what was found in one line, with its numbers.
func (a Asymmetry) Sentence() string {
	numbers := "right minus left "
	if a.Sided {
		numbers = "contralateral minus ipsilateral "
	}
	numbers += Signed(a.Difference) + " µV"
	if !math.IsNaN(a.Low) {
		numbers += fmt.Sprintf(" [%s, %s]", Signed(a.Low), Signed(a.High))
	}
	if !math.IsNaN(a.Corrected) {
		numbers += fmt.Sprintf(", p* %.2g", a.Corrected)
	}
	return fmt.Sprintf("%s, %s: %s (%s).", a.Condition, a.At.Label(), strings.TrimSuffix(a.Words(), "."), numbers)
}

// Words say on which side what is stronger, and whether it stands out among the
// pairs.
func (a Asymmetry) Words() string {
	words := a.sides()
	if a.Corrected > .05 && a.P <= .05 && !a.holdsZero() {
		words += " Among all the pairs looked at it does not stand out."
	}
	return words
}

// holdsZero reports whether the interval does.
func (a Asymmetry) holdsZero() bool { return !math.IsNaN(a.Low) && a.Low <= 0 && a.High >= 0 }

func (a Asymmetry) sides() string {
	place := "at " + a.Left + "–" + a.Right
	if a.holdsZero() {
		return place + " neither side is shown to be stronger: the interval holds zero."
	}
	first, second := "left", "right"
	if a.Sided {
		first, second = "ipsilateral side", "contralateral side"
	}
	side := func(isSecond bool) string {
		if isSecond {
			return second
		}
		return first
	}
	size := math.Abs(a.Difference)
	switch {
	case a.First < 0 && a.Second < 0:
		return fmt.Sprintf("%s the negativity is stronger on the %s by %.1f µV.", place,
			side(a.Difference < 0),
			size)
	case a.First > 0 && a.Second > 0:
		return fmt.Sprintf("%s the positivity is stronger on the %s by %.1f µV.", place,
			side(a.Difference > 0),
			size)
	}
	return fmt.Sprintf("%s the two sides have different signs, %.1f µV apart; the %s is more positive.", place,
		size,
		side(a.Difference > 0))
}

// IntervalWords say what the interval of a pair is, for the whiskers of a
// figure.
func (a Asymmetry) IntervalWords() string {
	text := "No interval and no test: that takes the people behind a grand average, or saved epochs."
	if a.N > 0 {
		text = fmt.Sprintf("Whiskers: 95\u00a0%% intervals of the %s by t, of %d %s, each pair by itself",
			cmp.Or(a.Centres, "mean"), a.N, a.Over)
		if a.Centres != "" {
			text += "; of each one's own right minus left, not of the curves'"
		}
		if e := a.Placed; e != nil && a.Over == overPeople {
			text += fmt.Sprintf("; with the error of placement that all caps share (%s)", e.SharedWords)
		} else if e != nil {
			text += fmt.Sprintf("; with the errors of placement (%s) and of interpolation", e.PoseWords)
		}
		text += "."
	}
	if !math.IsNaN(a.Joint) {
		text += " Thin whiskers: intervals that hold all pairs at once, by sign flips."
	}
	if !math.IsNaN(a.Corrected) {
		text += " p*: by sign flips, corrected over these pairs by the largest t."
	}
	return text
}

// StandOut lists at most so many asymmetries, the largest difference, as a
// multiple of its standard error, first.
func StandOut(list []Asymmetry, most int) []Asymmetry {
	shown := slices.Clone(list)
	slices.SortStableFunc(shown, func(a, b Asymmetry) int {
		return cmp.Compare(math.Abs(b.Difference/b.SEM), math.Abs(a.Difference/a.SEM)) // NaN comes last
	})
	return shown[:min(most, len(shown))]
}

// TestWords say how asymmetries were tested, or why they were not.
func (s Sides) TestWords(list []Asymmetry) string {
	const none = "No p: that takes the people behind a grand average, or the epochs of one person (calotte average " +
		"--save-epochs)."
	if len(list) > 0 && list[0].Centres != "" {
		return "No p: sign flips are of means, and this is the " + list[0].Centres +
			". Right minus left is that of " +
			"each one's own difference."
	}
	if len(list) == 0 || math.IsNaN(list[0].P) {
		return none
	}
	design, err := inference.Paired(list[0].N)
	if err != nil {
		return none
	}
	kind := fmt.Sprintf("%d sign flips drawn", s.Test.Arrangements)
	if design.Exact(s.Test) {
		kind = "all sign flips"
	}
	return fmt.Sprintf("p*: corrected over the pairs of a latency by the largest t; %s of %d %s; the "+
		"smallest p they "+
		"allow is %.2g.",
		kind, list[0].N, list[0].Over, design.SmallestP(s.Test))
}

// Cautions are what has to be known beside the numbers of an average of so many
// sites.
func (s Sides) Cautions(sites int) []string {
	var texts []string
	if noted := head.OpenSkull(s.Notes); noted != "" {
		texts = append(texts, fmt.Sprintf("The head file notes: %s. There the scalp's potentials are larger, "+
			"whatever the brain does: do not compare the pairs there.", noted))
	}
	if sites < 100 {
		kind := "known roughly"
		if sites < 32 {
			kind = "indicative only"
		}
		texts = append(texts, fmt.Sprintf("What a crooked cap would change is read from the spline; with %d "+
			"electrodes it is %s for shallow sources, and below the lowest electrodes.", sites, kind))
	}
	return append(texts, SideCaution)
}

// SideCaution is what a difference between sides does not say.
const SideCaution = "Which side is larger depends on the reference, right minus left does not; and the side that is " +
	"larger on the scalp need not be the side that is active in the brain."

// Signed is a value of two decimals with a true minus.
func Signed(v float64) string {
	text := strconv.FormatFloat(v, 'f', 2, 64)
	if text == "-0.00" {
		return "0.00"
	}
	return strings.Replace(text, "-", "−", 1)
}
