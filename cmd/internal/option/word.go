package option

import (
	"errors"
	"slices"
	"strings"
)

// A Word is a flag that takes one of a few words.
type Word[T ~string] struct {
	value *T
	kind  string
	words []T
}

// OneOf is the flag that sets value, which holds its default, to one of words;
// kind names them in the help.
func OneOf[T ~string](value *T, kind string, words ...T) *Word[T] {
	return &Word[T]{value, kind, words}
}

// Set implements pflag.Value.
func (w *Word[T]) Set(text string) error {
	if !slices.Contains(w.words, T(text)) {
		return errors.New("expected " + w.choice())
	}
	*w.value = T(text)
	return nil
}

// choice is "a, b or c".
func (w *Word[T]) choice() string {
	var list []string
	for _, word := range w.words {
		list = append(list, string(word))
	}
	last := len(list) - 1
	return strings.Join(list[:last], ", ") + " or " + list[last]
}

// String implements pflag.Value.
func (w *Word[T]) String() string {
	if w.value == nil { // a zero value, which pflag makes to tell defaults apart
		return ""
	}
	return string(*w.value)
}

// Type implements pflag.Value.
func (w *Word[T]) Type() string { return w.kind }
