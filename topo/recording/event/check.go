package event

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"calotte/topo/recording"
)

// Check compares the selector with the events that it is for. A label, a column
// or a value that none of them has, or a column to be compared that holds no
// number, is an error, which lists what there is: it would choose nothing, or
// all where "not" stands in front. Give the events of all recordings together,
// since one alone may lack a label.
func (s Selector) Check(events []recording.Event) error {
	if s.root == nil {
		return errors.New("no event is selected: name a label or a column")
	}
	return s.root.check(events)
}

func (n anyLabel) check(events []recording.Event) error {
	counts := map[string]int{}
	for _, e := range events {
		counts[e.Text]++
	}
	for _, label := range n.labels {
		if counts[label] == 0 {
			return fmt.Errorf("no event %s: %s", strconv.Quote(label),
				listed("there are", counts, "no events"))
		}
	}
	return nil
}

func (n anyValue) check(events []recording.Event) error {
	counts, err := valuesIn(events, n.column)
	if err != nil {
		return err
	}
	for _, value := range n.values {
		if counts[value] == 0 {
			return fmt.Errorf("no event has %s in the column %q: %s", strconv.Quote(value), n.column,
				listed("it holds", counts, "nothing"))
		}
	}
	return nil
}

func (n compare) check(events []recording.Event) error {
	counts, err := valuesIn(events, n.column)
	if err != nil {
		return err
	}
	for value := range counts {
		if _, ok := finiteNumber(value); ok {
			return nil
		}
	}
	return fmt.Errorf("the column %q holds no number to compare: %s", n.column,
		listed("it holds", counts, "nothing"))
}

func (n during) check(events []recording.Event) error { return nil }
func (n not) check(events []recording.Event) error    { return n.of.check(events) }
func (n all) check(events []recording.Event) error    { return checkAll(n.of, events) }

func (n anyNode) check(events []recording.Event) error { return checkAll(n.of, events) }

func checkAll(nodes []node, events []recording.Event) error {
	for _, n := range nodes {
		if err := n.check(events); err != nil {
			return err
		}
	}
	return nil
}

// valuesIn counts the values of a column. It is an error if no event has it.
func valuesIn(events []recording.Event, column string) (map[string]int, error) {
	values, columns := map[string]int{}, map[string]int{}
	found := false
	for _, e := range events {
		value := missing
		for name, v := range e.Columns.All() {
			columns[name]++
			if name == column {
				found, value = true, v
			}
		}
		values[value]++
	}
	if found {
		return values, nil
	}
	if len(columns) == 0 {
		return nil, fmt.Errorf("no column %q: these events have labels only, no columns", column)
	}
	names := slices.Sorted(maps.Keys(columns))
	return nil, fmt.Errorf("no column %q: there are %s", column, strings.Join(names, ", "))
}

// listed counts texts in a line, the most frequent first; a long list is cut.
func listed(verb string, counts map[string]int, none string) string {
	const most = 12
	texts := slices.SortedFunc(maps.Keys(counts), func(a, b string) int {
		return cmp.Or(cmp.Compare(counts[b], counts[a]), cmp.Compare(a, b))
	})
	if len(texts) == 0 {
		return verb + " " + none
	}
	var parts []string
	for _, t := range texts[:min(most, len(texts))] {
		parts = append(parts, fmt.Sprintf("%s (%d)", short(t), counts[t]))
	}
	list := verb + " " + strings.Join(parts, ", ")
	if more := len(texts) - most; more > 0 {
		list += fmt.Sprintf(" and %d more", more)
	}
	return list
}

// short makes text that a file holds fit an error: quoted where it could
// mislead and not longer than 40 characters.
func short(text string) string {
	const most = 40
	if runes := []rune(text); len(runes) > most {
		text = string(runes[:most]) + "…"
	}
	if q := strconv.Quote(text); text == "" || q != `"`+text+`"` {
		return q
	}
	return text
}
