package event

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"calotte/topo/recording"
	"calotte/topo/unit"
)

// A truth is the outcome of a test of an event. In this order "and" is the
// least, "or" the greatest and "not" the opposite.
type truth int

const (
	no      truth = -1
	unknown truth = 0
	yes     truth = 1
)

func truthOf(b bool) truth {
	if b {
		return yes
	}
	return no
}

// A node is a part of a selector.
type node interface {
	match(e *recording.Event) truth
	text() string
	check(events []recording.Event) error
}

type (
	anyLabel struct{ labels []string }
	anyValue struct {
		column string
		values []string
	}
	compare struct {
		column   string
		operator string
		number   float64
	}
	during  struct{ span unit.Span }
	not     struct{ of node }
	all     struct{ of []node }
	anyNode struct{ of []node }
)

// missing is how tables of events write that there is no value.
const missing = "n/a"

func (n anyLabel) match(e *recording.Event) truth { return truthOf(slices.Contains(n.labels, e.Text)) }

func (n anyValue) match(e *recording.Event) truth {
	value, ok := e.Columns.Get(n.column)
	if !ok {
		value = missing
	}
	return truthOf(slices.Contains(n.values, value))
}

// comparisons are the operators, those of two characters first.
var comparisons = [...]struct {
	operator string
	holds    func(a, b float64) bool
}{
	{"<=", func(a, b float64) bool { return a <= b }},
	{">=", func(a, b float64) bool { return a >= b }},
	{"!=", func(a, b float64) bool { return a != b }},
	{"<", func(a, b float64) bool { return a < b }},
	{">", func(a, b float64) bool { return a > b }},
	{"=", func(a, b float64) bool { return a == b }},
}

func (n compare) match(e *recording.Event) truth {
	x, ok := numberIn(e, n.column)
	if !ok {
		return unknown
	}
	for _, c := range comparisons {
		if c.operator == n.operator {
			return truthOf(c.holds(x, n.number))
		}
	}
	return unknown
}

// numberIn returns the finite number that an event has in a column.
func numberIn(e *recording.Event, column string) (float64, bool) {
	value, ok := e.Columns.Get(column)
	if !ok {
		return 0, false
	}
	return finiteNumber(value)
}

// finiteNumber reads a decimal number: not "inf", "nan" or "0x1p4", which
// package strconv would accept.
func finiteNumber(text string) (float64, bool) {
	if strings.Trim(text, "+-.0123456789eE") != "" {
		return 0, false
	}
	x, err := strconv.ParseFloat(text, 64)
	return x, err == nil && !math.IsInf(x, 0)
}

func (n during) match(e *recording.Event) truth {
	return truthOf(n.span.Contains(unit.Time(e.Onset)))
}

func (n not) match(e *recording.Event) truth { return -n.of.match(e) }

func (n all) match(e *recording.Event) truth {
	t := yes
	for _, of := range n.of {
		t = min(t, of.match(e))
	}
	return t
}

func (n anyNode) match(e *recording.Event) truth {
	t := no
	for _, of := range n.of {
		t = max(t, of.match(e))
	}
	return t
}
