package bids

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// An Entity is a part of a file's name: sub-01 has the key sub and the value
// 01.
type Entity struct{ Key, Value string }

// A Name is the name of a file taken apart: sub-01_task-flags_run-2_eeg.edf.
type Name struct {
	Entities  []Entity
	Suffix    string // "eeg"
	Extension string // with the point: ".edf"
}

// ParseName takes the name of a file apart, without its folder.
func ParseName(base string) (Name, error) {
	stem, extension, _ := strings.Cut(base, ".")
	parts := strings.Split(stem, "_")
	n := Name{Suffix: parts[len(parts)-1]}
	if extension != "" {
		n.Extension = "." + extension
	}
	if !alphanumeric(n.Suffix) {
		return Name{}, fmt.Errorf("name %q: it ends in %q; expected entities such as sub-01 and a "+
			"suffix such as "+
			"eeg, joined by _", base, n.Suffix)
	}
	for _, part := range parts[:len(parts)-1] {
		key, value, ok := strings.Cut(part, "-")
		if !ok || !alphanumeric(key) || !alphanumeric(value) {
			return Name{}, fmt.Errorf("name %q: %q is no entity; expected a key and a value of letters "+
				"and digits, "+
				"such as sub-01", base, part)
		}
		if n.Get(key) != "" {
			return Name{}, fmt.Errorf("name %q: entity %q is given twice", base, key)
		}
		n.Entities = append(n.Entities, Entity{key, value})
	}
	return n, nil
}

func alphanumeric(text string) bool {
	return text != "" && !strings.ContainsFunc(text,
		func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
}

// Get returns the value of an entity, empty where the name does not have it.
func (n Name) Get(key string) string {
	for _, e := range n.Entities {
		if e.Key == key {
			return e.Value
		}
	}
	return ""
}

// String writes the name as it was.
func (n Name) String() string {
	var b strings.Builder
	for _, e := range n.Entities {
		b.WriteString(e.Key + "-" + e.Value + "_")
	}
	return b.String() + n.Suffix + n.Extension
}

// appliesTo reports whether a sidecar of this name applies to a recording:
// whether each of its entities, space aside, is one of the recording's. A space
// tells several sets of positions of one recording apart.
func (n Name) appliesTo(recording Name) bool {
	return !slices.ContainsFunc(n.Entities, func(e Entity) bool {
		return e.Key != spaceKey && recording.Get(e.Key) != e.Value
	})
}

const spaceKey = "space"
