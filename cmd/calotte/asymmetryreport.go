package main

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"calotte/cmd/internal/console"
	"calotte/layout"
	"calotte/topo/contrast"
	"calotte/topo/measure"
)

// asymmetryColumns are those of the table; contralateral where the sides are
// those of a stimulus.
func asymmetryColumns(contralateral bool) []string {
	sides := "left_uV right_uV right_minus_left_uV"
	if contralateral {
		sides = "ipsilateral_uV contralateral_uV contralateral_minus_ipsilateral_uV"
	}
	return strings.Fields("condition at left right n over " + sides +
		" sem low high p p_corrected same_sign index repaired noted" +
		" side_5mm forward_5mm twist_3deg stretch_1mm smallest_turn_mm smallest_roll_deg " +
		"smallest_pitch_deg smallest_yaw_deg turn_mm_to_zero_interval change_by_capcheck " +
		"exactly_mirrored_uV interpolation_se placement_se noise_share interpolation_share placement_share " +
		"own_placement_share_of_noise by_gaze_uV by_gaze_low by_gaze_high joint_low joint_high")
}

// asymmetryCells are the rows of the table.
func asymmetryCells(list []contrast.Asymmetry) [][]string {
	number := func(v float64, digits int) string {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return "n/a"
		}
		return decimals(v, digits)
	}
	text := func(s string) string {
		if s == "" {
			return "n/a"
		}
		return s
	}
	var rows [][]string
	for _, a := range list {
		n := ""
		if a.N > 0 {
			n = strconv.Itoa(a.N)
		}
		row := []string{
			a.Condition, a.At.String(), a.Left, a.Right, text(n), text(overCell(a)), number(a.First, 4),
			number(a.Second, 4),
			number(a.Difference, 4),
			number(a.SEM, 4), number(a.Low, 4), number(a.High, 4), number(a.P, 6), number(a.Corrected, 6),
			number(a.SameSign, 3),
			number(a.Index(), 4), strconv.FormatBool(a.Repaired), text(a.Noted),
			number(a.Cap.ToSide, 4), number(a.Cap.Forward, 4), number(a.Cap.Twisted, 4),
			number(a.Cap.Stretched, 4),
			number(a.Cap.Explains.Slide, 2), number(a.Cap.Explains.Degrees.Y, 2),
			number(a.Cap.Explains.Degrees.X, 2), number(a.Cap.Explains.Degrees.Z, 2),
			number(a.Cap.Touches.Slide, 2),
			number(a.Cap.Checked, 4), number(a.Cap.Mirrored, 4),
		}
		row = append(row, placedCells(a, number)...)
		rows = append(rows, append(append(row, gazeCells(a, number)...),
			number(a.Difference-a.Joint, 4), number(a.Difference+a.Joint, 4)))
	}
	return rows
}

// overCell says what the numbers are over, and the centre that was taken of it.
func overCell(a contrast.Asymmetry) string {
	if a.Centres == "" {
		return a.Over
	}
	return a.Over + ", " + a.Centres
}

// placedCells are those of what the interval of a pair is made of.
func placedCells(a contrast.Asymmetry, number func(v float64, digits int) string) []string {
	if a.Placed == nil {
		return []string{"n/a", "n/a", "n/a", "n/a", "n/a", "n/a"}
	}
	noise, interpolation, placement := math.NaN(), math.NaN(), math.NaN()
	if a.N > 1 {
		noise, interpolation, placement = a.Placed.Shares(a.N)
	}
	return []string{number(a.Placed.Interpolation, 4), number(a.Placed.Placement, 4), number(noise, 3),
		number(interpolation, 3), number(placement, 3), number(a.Placed.OwnShare(), 3)}
}

// gazeCells are those of what looks sideways put into a difference.
func gazeCells(a contrast.Asymmetry, number func(v float64, digits int) string) []string {
	if a.Gaze == nil {
		return []string{"n/a", "n/a", "n/a"}
	}
	return []string{number(a.Gaze.Amount, 4), number(a.Gaze.Low, 4), number(a.Gaze.High, 4)}
}

// sideErrorColumns are those that --measurement-errors adds to the table of
// asymmetry; contralateral where the sides are those of a stimulus.
func sideErrorColumns(contralateral bool) []string {
	if contralateral {
		return []string{"ipsilateral_sme", "contralateral_sme", "contralateral_minus_ipsilateral_sme"}
	}
	return []string{"left_sme", "right_sme", "right_minus_left_sme"}
}

// sideErrors are those of what was found, row by row, with
// --measurement-errors.
func (s *askedSides) sideErrors(contralateral bool) []contrast.SideError {
	if contralateral && s.sme {
		return contrast.SidedErrors(s.errors[0], s.errors[1])
	}
	return slices.Concat(s.errors...)
}

// sideErrorCells are those of a row.
func sideErrorCells(e contrast.SideError) []string {
	return []string{decimals(e.First, 4), decimals(e.Second, 4), decimals(e.Difference, 4)}
}

// mostTold is how many pairs are told of in words.
const mostTold = 6

// sentences say what was found at the pairs that stand out most.
func (s *askedSides) sentences() []string {
	var out []string
	for _, a := range contrast.StandOut(s.found, mostTold) {
		out = append(out, a.Sentence())
	}
	return out
}

// chosen says who chose the pairs, where not all were looked at; empty: all
// were, or a file of windows declares them.
func (s *askedSides) chosen() string {
	declared := func(name layout.Name) bool {
		return slices.ContainsFunc(s.fields.Windows.Declared, func(w measure.Window) bool {
			return slices.Contains(w.Sites, string(name))
		})
	}
	if len(s.Pools) == 0 && !slices.ContainsFunc(s.Of, func(n layout.Name) bool { return !declared(n) }) {
		return ""
	}
	return "Pairs chosen by the author."
}

// report says in words what the table says in numbers: all pairs where they are
// few, else those that stand out most.
func (s *askedSides) report(w io.Writer) {
	shown := contrast.StandOut(s.found, mostTold)
	if len(shown) < len(s.found) {
		fmt.Fprintf(w, "the %d of %d that stand out most:\n", len(shown), len(s.found))
	}
	for _, a := range shown {
		for _, line := range a.Lines() {
			console.Say(w, "%s\n", line)
		}
		for i, n := range s.needed {
			if b := s.found[i]; b.Left == a.Left && b.At == a.At && b.Condition == a.Condition {
				console.Say(w, "  %s\n", n.words(s.effect))
			}
		}
	}
	console.Say(w, "%s\n", s.TestWords(s.found))
	fmt.Fprintln(w, s.fields.Windows.Remark("Latencies"))
	if chosen := s.chosen(); chosen != "" {
		fmt.Fprintln(w, chosen)
	}
	if caution := contrast.CapCaution(s.found); caution != "" {
		console.Say(w, "%s\n", caution)
	}
	for _, caution := range s.Cautions(len(s.fields.Averages[0].Sites)) {
		console.Say(w, "%s\n", caution)
	}
}
