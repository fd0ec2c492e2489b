package event

import (
	"slices"

	"calotte/topo/recording"
)

// A Selector chooses events; the package comment says how one is written. The
// zero Selector chooses none. Its text form suits flags and YAML.
type Selector struct {
	root node // nil: none
}

// Parse reads a selector. Errors are of type *SyntaxError.
func Parse(text string) (Selector, error) {
	root, err := parse(text)
	return Selector{root}, err
}

// Labels returns the selector of events whose label is one of those given.
func Labels(labels ...string) Selector {
	if len(labels) == 0 {
		return Selector{}
	}
	return Selector{anyLabel{labels}}
}

// OnlyLabels returns the labels of a selector that names labels and nothing
// else, nil for any other.
func (s Selector) OnlyLabels() []string {
	if n, ok := s.root.(anyLabel); ok {
		return slices.Clone(n.labels)
	}
	return nil
}

// Match reports whether the event is chosen.
func (s Selector) Match(e recording.Event) bool {
	return s.root != nil && s.root.match(&e) == yes
}

// Select returns the events that are chosen, in their order.
func (s Selector) Select(events []recording.Event) []recording.Event {
	var chosen []recording.Event
	for _, e := range events {
		if s.Match(e) {
			chosen = append(chosen, e)
		}
	}
	return chosen
}

// IsZero reports whether the selector is the zero one.
func (s Selector) IsZero() bool { return s.root == nil }

// String writes the selector so that Parse reads it as the same.
func (s Selector) String() string {
	if s.root == nil {
		return ""
	}
	return s.root.text()
}

// Set reads a selector; where it fails the old one stays.
func (s *Selector) Set(text string) error {
	parsed, err := Parse(text)
	if err == nil {
		*s = parsed
	}
	return err
}

func (s Selector) Type() string                     { return "selector" }
func (s Selector) MarshalText() ([]byte, error)     { return []byte(s.String()), nil }
func (s *Selector) UnmarshalText(text []byte) error { return s.Set(string(text)) }
