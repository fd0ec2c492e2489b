package main

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"calotte/cmd/internal/console"
	"calotte/topo/inference"
	"calotte/topo/measure"
)

var asymmetryColumns = strings.Fields("condition at left right n over left_uV right_uV right_minus_left_uV sem low high p p_corrected same_sign index repaired noted side_5mm forward_5mm twist_3deg side_mm_to_zero_interval side_mm_to_explain change_by_capcheck exactly_mirrored_uV")

func (r asymmetryRow) cells() []string {
	number := func(v float64, digits int) string {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return "n/a"
		}
		return decimals(v, digits)
	}
	n, over := "n/a", "n/a"
	if r.n > 0 {
		n, over = strconv.Itoa(r.n), r.unit
	}
	return []string{
		r.condition, r.at.String(), r.left, r.right, n, over, number(r.values[0], 4), number(r.values[1], 4), number(r.difference, 4),
		number(r.sem, 4), number(r.low, 4), number(r.high, 4), number(r.p, 6), number(r.adjusted, 6), number(r.same, 3),
		number(measure.LateralIndex(r.values[0], r.values[1], r.sem), 4), strconv.FormatBool(r.repaired), orMissingText(r.noted),
		number(r.change[0], 4), number(r.change[1], 4), number(r.change[2], 4), number(r.touch, 1), number(r.need, 1), number(r.checked, 4), number(r.mirrored, 4),
	}
}

// orMissingText is a text as tables have it.
func orMissingText(text string) string {
	if text == "" {
		return "n/a"
	}
	return text
}

// report says in words what the table says in numbers: all pairs where they are few, else
// those that stand out most.
func (f *asymmetryFlags) report(w io.Writer, fields *fields, rows []asymmetryRow) {
	const most = 6
	shown := slices.Clone(rows)
	slices.SortStableFunc(shown, func(a, b asymmetryRow) int {
		x, y := math.Abs(a.difference/a.sem), math.Abs(b.difference/b.sem)
		switch {
		case math.IsNaN(x) || math.IsNaN(y) || x == y:
			return 0
		case x > y:
			return -1
		}
		return 1
	})
	if len(shown) > most {
		console.Say(w, "the %d of %d that stand out most:\n", most, len(shown))
		shown = shown[:most]
	}
	for _, r := range shown {
		r.say(w)
	}
	if rows[0].n > 0 && !math.IsNaN(rows[0].p) {
		if design, err := inference.Paired(rows[0].n); err == nil {
			o := inference.Options{Arrangements: f.arrangements}
			kind := fmt.Sprintf("%d sign flips drawn", f.arrangements)
			if design.Exact(o) {
				kind = "all sign flips"
			}
			console.Say(w, "p*: corrected over the pairs of a latency by the largest t; %s of %d %s; the smallest p they allow is %.2g.\n", kind, rows[0].n, rows[0].unit, design.SmallestP(o))
		}
	} else {
		fmt.Fprintln(w, "No p: that takes the people behind a grand average, or the epochs of one person (calotte average --save-epochs).")
	}
	fmt.Fprintln(w, fields.windows.remark("Latencies"))
	if noted := openSkull(fields.head.Notes); noted != "" {
		console.Say(w, "The head file notes: %s. There the scalp's potentials are larger, whatever the brain does: do not compare the pairs there.\n", noted)
	}
	if n := len(fields.averages[0].Sites); n < 100 {
		kind := "known roughly"
		if n < 32 {
			kind = "indicative only"
		}
		console.Say(w, "What a crooked cap would change is read from the spline; with %d electrodes it is %s for shallow sources, and below the lowest electrodes.\n", n, kind)
	}
	fmt.Fprintln(w, "The side that is larger on the scalp need not be the side that is active in the brain.")
}

func (r asymmetryRow) say(w io.Writer) {
	console.Say(w, "%s–%s  %s, %s", r.left, r.right, r.condition, r.at.Label())
	if r.n > 0 {
		console.Say(w, "   %d %s", r.n, r.unit)
	}
	names := [3]string{"left", "right", "right−left"}
	if r.contra {
		names = [3]string{"ipsilateral", "contralateral", "contralateral−ipsilateral"}
	}
	console.Say(w, "   %s %s   %s %s   %s %s", names[0], signed(r.values[0]), names[1], signed(r.values[1]), names[2], signed(r.difference))
	if !math.IsNaN(r.low) {
		console.Say(w, " [%s, %s]", signed(r.low), signed(r.high))
	}
	if !math.IsNaN(r.adjusted) {
		console.Say(w, "   p* %.2g", r.adjusted)
	}
	if r.repaired {
		fmt.Fprint(w, "   one side is repaired")
	}
	words := r.words()
	if r.adjusted > .05 && r.p <= .05 {
		words += " Among all the pairs looked at it does not stand out."
	}
	console.Say(w, "\n  In words: %s\n", words)
	if !math.IsNaN(r.mirrored) {
		console.Say(w, "  At places that mirror each other exactly, from the spline: %s µV.\n", signed(r.mirrored))
	}
	if !math.IsNaN(r.checked) {
		console.Say(w, "  Had the cap sat in its place, as capcheck has it, this would be %s µV.\n", signed(r.difference+r.checked))
	}
	if math.IsNaN(r.need) {
		return
	}
	console.Say(w, "  A cap 5 mm to one side would change this by %.2f µV; ", math.Abs(r.change[0]))
	if math.Abs(r.touch) <= beyondLinear {
		console.Say(w, "at %.1f mm the interval would touch zero, and ", math.Abs(r.touch))
	}
	switch {
	case math.Abs(r.need) > 100:
		fmt.Fprintln(w, "no slide would explain it.")
	case math.Abs(r.need) > beyondLinear:
		console.Say(w, "%.0f mm would be needed to explain it, if the change went on in proportion.\n", math.Abs(r.need))
	default:
		console.Say(w, "%.0f mm would be needed to explain it.\n", math.Abs(r.need))
	}
}

// words is a sentence: on which side what is stronger.
func (r asymmetryRow) words() string {
	place := "at " + r.left + "–" + r.right
	if !math.IsNaN(r.low) && r.low <= 0 && r.high >= 0 {
		return fmt.Sprintf("%s neither side is shown to be stronger: the interval holds zero.", place)
	}
	left, right := r.values[0], r.values[1]
	size := math.Abs(r.difference)
	side := func(stronger bool) string {
		switch {
		case stronger && r.contra:
			return "contralateral side"
		case r.contra:
			return "ipsilateral side"
		case stronger:
			return "right"
		}
		return "left"
	}
	switch {
	case left < 0 && right < 0:
		return fmt.Sprintf("%s the negativity is stronger on the %s by %.1f µV.", place, side(right < left), size)
	case left > 0 && right > 0:
		return fmt.Sprintf("%s the positivity is stronger on the %s by %.1f µV.", place, side(right > left), size)
	}
	return fmt.Sprintf("%s the two sides have different signs, %.1f µV apart; the %s is more positive.", place, size, side(right > left))
}

// signed is a value of two decimals with a true minus.
func signed(v float64) string {
	return strings.Replace(strconv.FormatFloat(v, 'f', 2, 64), "-", "−", 1)
}
