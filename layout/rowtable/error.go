package rowtable

import (
	"fmt"
	"strings"
	"unicode"
)

// An Error says where in a table something is wrong.
type Error struct {
	Line   int    // from 1, the header's; zero for the table as a whole
	Column string // empty when the line as a whole is meant
	Got    string
	Want   string // what was expected and what to do; empty where Got says it
}

// Error implements error: one line, without the file's name.
func (e *Error) Error() string {
	var where, parts []string
	if e.Line > 0 {
		where = append(where, fmt.Sprintf("line %d", e.Line))
	}
	if e.Column != "" {
		where = append(where, fmt.Sprintf("column %q", Clip(e.Column)))
	}
	for _, part := range []string{strings.Join(where, ", "), e.Got, e.Want} {
		if part != "" {
			parts = append(parts, part)
		}
	}
	return strings.Join(parts, ": ")
}

// Clip makes text that a file holds fit an error: one line and short.
func Clip(text string) string {
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
