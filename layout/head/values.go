package head

import (
	"encoding/json"
	"errors"
	"fmt"

	"calotte/layout"
)

// A readingList is a JSON number or a list of them.
type readingList []float64

func (l readingList) MarshalJSON() ([]byte, error) {
	if len(l) == 1 {
		return json.Marshal(l[0])
	}
	return json.Marshal([]float64(l))
}

// UnmarshalJSON takes a lone zero for a measure that was not taken.
func (l *readingList) UnmarshalJSON(text []byte) error {
	var one float64
	if err := json.Unmarshal(text, &one); err == nil {
		if one != 0 {
			*l = readingList{one}
		}
		return nil
	}
	var many []*float64 // null is not a number
	if err := json.Unmarshal(text, &many); err != nil {
		return err
	}
	for _, x := range many {
		if x == nil {
			return errors.New("null in a list")
		}
		*l = append(*l, *x)
	}
	return nil
}

type noteList []Note

func (l noteList) MarshalJSON() ([]byte, error) {
	type note struct {
		Kind  NoteKind    `json:"kind"`
		Side  layout.Side `json:"side"`
		Place string      `json:"place,omitempty"`
	}
	all := make([]note, len(l))
	for i, n := range l {
		all[i] = note(n)
	}
	return json.Marshal(all)
}

func (l *noteList) UnmarshalJSON(text []byte) error {
	var all []json.RawMessage
	if err := json.Unmarshal(text, &all); err != nil {
		return err
	}
	for i, raw := range all {
		var n Note
		err := decodeObject(string(raw),
			[]field{{"kind", &n.Kind, "a text"}, {"side", &n.Side, "a text"},
				{"place", &n.Place, "a text"}})
		if err != nil {
			return &noteError{i + 1, err}
		}
		*l = append(*l, n)
	}
	return nil
}

// A noteError says which note has a wrong form.
type noteError struct {
	note int
	err  error
}

func (e *noteError) Error() string { return fmt.Sprintf("note %d: %v", e.note, e.err) }
