package erp

import (
	"fmt"
	"slices"
	"sort"
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
		return fmt.Errorf("the name is empty: use letters and digits")
	}
	for _, r := range name {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) {
			return fmt.Errorf("the name %q holds %q: use letters and digits", name, r)
		}
	}
	return nil
}

// CheckConditions refuses conditions of one name, and conditions none of whose
// labels is among the events, listing the labels that are.
func CheckConditions(conditions []Condition, events []recording.Event) error {
	counts := map[string]int{}
	for _, e := range events {
		counts[e.Text]++
	}
	for i, c := range conditions {
		if slices.ContainsFunc(conditions[:i], func(o Condition) bool { return strings.EqualFold(o.Name, c.Name) }) {
			return fmt.Errorf("two conditions are named %q: join their labels with a comma, or rename one", c.Name)
		}
		for _, label := range c.Labels {
			if counts[label] == 0 {
				return fmt.Errorf("condition %s: no event %q; %s", c.Name, label, LabelCounts(events))
			}
		}
	}
	return nil
}

// LabelCounts lists the labels of events and how many there are of each:
// "events: T0 (30), T1 (16)". Rare ones stand last and a long list is cut.
func LabelCounts(events []recording.Event) string {
	counts := map[string]int{}
	for _, e := range events {
		counts[e.Text]++
	}
	if len(counts) == 0 {
		return "there are no events"
	}
	labels := make([]string, 0, len(counts))
	for l := range counts {
		labels = append(labels, l)
	}
	sort.Slice(labels, func(i, j int) bool {
		a, b := labels[i], labels[j]
		if counts[a] != counts[b] {
			return counts[a] > counts[b]
		}
		return a < b
	})
	const most = 12
	texts := make([]string, 0, most)
	for _, l := range labels[:min(most, len(labels))] {
		texts = append(texts, fmt.Sprintf("%s (%d)", clip(l), counts[l]))
	}
	list := "events: " + strings.Join(texts, ", ")
	if more := len(labels) - most; more > 0 {
		list += fmt.Sprintf(" and %d more", more)
	}
	return list
}
