package bids

import (
	"strings"
	"unicode"
)

// printable replaces characters that a terminal would obey.
func printable(text string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return ' '
		}
		return r
	}, text)
}
