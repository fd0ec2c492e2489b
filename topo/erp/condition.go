package erp

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode"

	"calotte/topo/recording"
)

// A Condition is a name for the events that carry one of its labels.
type Condition struct {
	Name   string
	Labels []string
}

// Set reads NAME=LABEL or NAME=LABEL,LABEL: "known=T1". The name consists of
// letters and digits, since it becomes part of file names and a hyphen stands
// for "minus" there.
func (c *Condition) Set(text string) error {
	name, list, ok := strings.Cut(text, "=")
	if !ok {
		return fmt.Errorf("condition %q has no event label: expected NAME=LABEL such as known=T1", text)
	}
	if err := CheckName(name); err != nil {
		return fmt.Errorf("condition %q: %w", text, err)
	}
	var labels []string
	for label := range strings.SplitSeq(list, ",") {
		label = strings.TrimSpace(label)
		if label == "" {
			return fmt.Errorf("condition %q has an empty event label: expected NAME=LABEL such as known=T1", text)
		}
		if slices.Contains(labels, label) {
			return fmt.Errorf("condition %q has the event label %q twice", text, label)
		}
		labels = append(labels, label)
	}
	*c = Condition{name, labels}
	return nil
}

func (c Condition) String() string { return c.Name + "=" + strings.Join(c.Labels, ",") }

// CheckName refuses what cannot be the name of a condition.
func CheckName(name string) error {
	if name == "" {
		return errors.New("the name is empty: use letters and digits")
	}
	for _, r := range name {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) {
			return fmt.Errorf("the name %q holds %q: use letters and digits", name, r)
		}
	}
	return nil
}

// CheckNames refuses conditions of one name, letter case aside since file
// systems may ignore it.
func CheckNames(conditions []Condition) error {
	for i, c := range conditions {
		if slices.ContainsFunc(conditions[:i], func(o Condition) bool { return strings.EqualFold(o.Name, c.Name) }) {
			return fmt.Errorf("two conditions are named %q: join their labels with a comma, or rename one", c.Name)
		}
	}
	return nil
}

// CheckConditions refuses conditions that [CheckNames] does, and those one of
// whose labels is not among the events, listing the labels that are.
func CheckConditions(conditions []Condition, events []recording.Event) error {
	if err := CheckNames(conditions); err != nil {
		return err
	}
	counts := countLabels(events)
	for _, c := range conditions {
		for _, label := range c.Labels {
			if counts[label] == 0 {
				return fmt.Errorf("condition %s: no event %q; %s", c.Name, label, LabelCounts(events))
			}
		}
	}
	return nil
}

func countLabels(events []recording.Event) map[string]int {
	counts := map[string]int{}
	for _, e := range events {
		counts[e.Text]++
	}
	return counts
}

// LabelCounts lists the labels of events and how many there are of each:
// "events: T0 (30), T1 (16)". Rare ones stand last and a long list is cut.
func LabelCounts(events []recording.Event) string {
	counts := countLabels(events)
	if len(counts) == 0 {
		return "there are no events"
	}
	labels := slices.SortedFunc(maps.Keys(counts), func(a, b string) int {
		return cmp.Or(cmp.Compare(counts[b], counts[a]), cmp.Compare(a, b))
	})
	const most = 12
	var texts []string
	for _, l := range labels[:min(most, len(labels))] {
		texts = append(texts, fmt.Sprintf("%s (%d)", clip(l), counts[l]))
	}
	list := "events: " + strings.Join(texts, ", ")
	if more := len(labels) - most; more > 0 {
		list += fmt.Sprintf(" and %d more", more)
	}
	return list
}

// clip makes text that a file holds fit an error: one line and short.
func clip(text string) string {
	const most = 40
	runes := []rune(text[:min(len(text), 4*most+1)])
	tail := ""
	if len(runes) > most {
		runes, tail = runes[:most], "…"
	}
	for i, r := range runes {
		if !unicode.IsPrint(r) {
			runes[i] = '·'
		}
	}
	return string(runes) + tail
}
