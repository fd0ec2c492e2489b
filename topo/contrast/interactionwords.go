package contrast

import (
	"fmt"
	"math"
	"strings"
	"text/tabwriter"
)

// scoreUnits are those of the scores as people read them, and how many there
// are to the unit of the table.
var scoreUnits = map[string]struct {
	factor float64
	name   string
}{
	"mean": {1, "µV"}, "peak": {1, "µV"}, "peak_latency": {1e3, "ms"}, "onset": {1e3, "ms"},
	"area": {1e3, "µV·ms"}, "area_latency": {1e3, "ms"},
}

// Words say the interaction in a sentence: "n170, mean: the difference known
// minus novel is more negative at P8 than at P7 by 1.10 µV [0.30, 1.90], p
// 0.012 (12 people)". A difference counts as shown where p is [Alpha] or less
// and its interval does not hold zero.
func (x Interaction) Words() string {
	e := x.Interaction()
	subject, preposition, other := 0, " in ", 1
	if x.Of.Second == ByConditions {
		subject, preposition, other = 1, " at ", 0
	}
	where := x.Window.Name
	if x.Of.First == ByConditions {
		where += " at " + x.Place
	}
	text := fmt.Sprintf("%s, %s: ", where, strings.ReplaceAll(x.Score, "_", " "))
	if math.IsNaN(e.P) {
		return text + "too few people have it in all cells (" + x.extent() + ")"
	}
	u := scoreUnits[x.Score]
	what, less, more := "difference", "more negative", "more positive"
	if u.name == "ms" {
		what, less, more = "delay", "shorter", "longer"
	}
	text += "the " + what + " " + difference.words(x.Levels[subject])
	low, high, value := e.Low, e.High, e.Value
	levels := x.Levels[other]
	than := preposition + levels[0] + " than" + preposition + levels[1]
	switch shown := e.P <= Alpha && low*high > 0; {
	case !shown:
		text += " is not shown to be " + more + " or " + strings.TrimPrefix(less, "more ") + than + ": "
	case value < 0:
		value, low, high = -value, -high, -low
		text += " is " + less + than + " by "
	default:
		text += " is " + more + than + " by "
	}
	return text + fmt.Sprintf("%s %s [%s, %s], p %.2g (%s)", Signed(u.factor*value), u.name, Signed(u.factor*low),
		Signed(u.factor*high), e.P, x.extent())
}

// extent is who has all cells: "12 people", or "6 and 5 people".
func (x Interaction) extent() string {
	if len(x.People) == 2 {
		return fmt.Sprintf("%d and %d people", x.People[0], x.People[1])
	}
	return fmt.Sprintf("%d people", x.People[0])
}

// Lines lay the effects out: the means of cells with their standard errors, then
// the differences with their intervals and p.
func (x Interaction) Lines() []string {
	u := scoreUnits[x.Score]
	value := func(v float64) string { return Signed(u.factor * v) }
	cells := [][]string{{fmt.Sprintf("%s %s, %s", x.Window.Name, strings.ReplaceAll(x.Score, "_", " "), u.name)}}
	cells[0] = append(cells[0], x.Levels[1][:]...)
	for _, level := range x.Levels[0] {
		cells = append(cells, []string{level})
	}
	var differences [][]string
	for i, e := range x.Effects {
		if e.Kind == "cell" { // two a row
			row := &cells[1+i/2]
			*row = append(*row, value(e.Value)+" ± "+value(e.SE))
			continue
		}
		differences = append(differences, []string{e.Part[0] + ", " + e.Part[1],
			fmt.Sprintf("%s [%s, %s]", value(e.Value), value(e.Low), value(e.High)),
			fmt.Sprintf("p %.2g", e.P)})
	}
	return append(aligned(cells), aligned(differences)...)
}

// aligned are rows of cells whose columns begin below each other.
func aligned(rows [][]string) []string {
	var text strings.Builder
	w := tabwriter.NewWriter(&text, 0, 0, 3, ' ', 0)
	for _, row := range rows {
		fmt.Fprintln(w, strings.Join(row, "\t"))
	}
	_ = w.Flush() // a builder takes all
	return strings.Split(strings.TrimSuffix(text.String(), "\n"), "\n")
}

// TestWords say how interactions were tested.
func (q TwoFactors) TestWords(list []Interaction) string {
	if len(list) == 0 || math.IsNaN(list[0].Interaction().P) {
		return ""
	}
	e := list[0].Interaction()
	kind := fmt.Sprintf("%d", q.Test.Arrangements)
	if e.Exact {
		kind = "all"
	}
	text := "95 % intervals are by t; p: " + kind + " sign flips of " + list[0].extent()
	if q.Second == ByGroups {
		text = "95 % intervals are by t, between groups by Welch's; p between groups: " + kind +
			" exchanges of " + list[0].extent() + ", within them by sign flips"
	}
	return text + fmt.Sprintf("; the smallest p they allow is %.2g. Of several windows, places and scores each is "+
		"tested by itself.", e.Smallest)
}
