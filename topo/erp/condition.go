package erp

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode"

	"calotte/layout/rowtable"
	"calotte/topo/recording"
	"calotte/topo/recording/event"
)

// A Condition is a name for the events that a selector chooses.
type Condition struct {
	Name   string
	Events event.Selector
}

// Set reads NAME=SELECTOR: "known=T1", "known=trial_type:known and
// response:correct". The name consists of letters and digits, since it becomes
// part of file names and a hyphen stands for "minus" there. Package event says
// how a selector is written.
func (c *Condition) Set(text string) error {
	name, selector, ok := strings.Cut(text, "=")
	if !ok || strings.TrimSpace(selector) == "" {
		return fmt.Errorf("condition %q has no event label: expected NAME=LABEL such as known=T1", text)
	}
	if err := CheckName(name); err != nil {
		return fmt.Errorf("condition %q: %w", text, err)
	}
	events, err := event.Parse(selector)
	if err != nil {
		return fmt.Errorf("condition %s: %w", name, err)
	}
	*c = Condition{name, events}
	return nil
}

func (c Condition) String() string { return c.Name + "=" + c.Events.String() }

// labels are those of the condition's events as Info keeps them: the labels of
// a selector that names nothing else, else the selector as a whole.
func (c Condition) labels() []string {
	if labels := c.Events.OnlyLabels(); labels != nil {
		return labels
	}
	return []string{c.Events.String()}
}

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
		if err := c.CheckBeside(conditions[:i]); err != nil {
			return err
		}
	}
	return nil
}

// CheckBeside refuses a condition that has the name of one of others, likewise.
func (c Condition) CheckBeside(others []Condition) error {
	if slices.ContainsFunc(others, func(o Condition) bool { return strings.EqualFold(o.Name, c.Name) }) {
		return fmt.Errorf("two conditions are named %q: join their labels with a comma, or rename one", c.Name)
	}
	return nil
}

// CheckConditions refuses conditions that [CheckNames] does, and those whose
// selector asks for what none of the events has, listing what there is.
func CheckConditions(conditions []Condition, events []recording.Event) error {
	if err := CheckNames(conditions); err != nil {
		return err
	}
	for _, c := range conditions {
		if err := c.Events.Check(events); err != nil {
			return fmt.Errorf("condition %s: %w", c.Name, err)
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
		texts = append(texts, fmt.Sprintf("%s (%d)", rowtable.Clip(l), counts[l]))
	}
	list := "events: " + strings.Join(texts, ", ")
	if more := len(labels) - most; more > 0 {
		list += fmt.Sprintf(" and %d more", more)
	}
	return list
}
