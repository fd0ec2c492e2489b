package console

import (
	"fmt"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// Expand replaces patterns by the files that match them, for shells that leave
// this to the program. What matches nothing stays as it is.
func Expand(args []string) []string {
	var out []string
	for _, arg := range args {
		files, err := filepath.Glob(arg)
		if !strings.Contains(arg, "*") || err != nil || len(files) == 0 {
			files = []string{arg}
		}
		out = append(out, files...)
	}
	return out
}

// SomeOf lists names; a long list is cut.
func SomeOf(names []string) string {
	const most = 20
	text := fmt.Sprint(slices.Clone(names[:min(most, len(names))]))
	if more := len(names) - most; more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text
}

// parsing is how the standard library says that a text is no number.
var parsing = regexp.MustCompile(`strconv\..*`)

// PlainReason is an error's text without the names of functions.
func PlainReason(text string) string { return parsing.ReplaceAllString(text, "expected a number") }
