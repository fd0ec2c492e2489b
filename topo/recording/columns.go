package recording

import (
	"iter"
	"slices"
)

// Columns are the named values of an event's row in a table, in the order of
// the table. The zero value has none. Columns never change: copies may share
// them.
type Columns struct {
	names  []string // shared by the rows of a table
	values []string
}

// NewColumns returns columns of the given names, which should differ, and
// values, of which there must be as many. It keeps both slices: rows may share
// the names.
func NewColumns(names, values []string) Columns {
	return Columns{names, values[:len(names):len(names)]}
}

// Get returns the value of the column of that name, and whether there is one.
func (c Columns) Get(name string) (string, bool) {
	if i := slices.Index(c.names, name); i >= 0 {
		return c.values[i], true
	}
	return "", false
}

// All returns the names and values in order.
func (c Columns) All() iter.Seq2[string, string] {
	return func(yield func(name, value string) bool) {
		for i, name := range c.names {
			if !yield(name, c.values[i]) {
				return
			}
		}
	}
}
