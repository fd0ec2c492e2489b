package archive

import (
	"fmt"
	"strings"
	"unicode"

	"calotte/topo/erp/store"
)

// Stem is the beginning of an average's file names.
func Stem(name, condition string) string { return store.Stem(name, condition) }

// CheckStem refuses what cannot begin a file's name on every system, or would
// begin a hidden one: a stem is made of letters, digits and - _ . + and does not
// begin with a dot.
func CheckStem(stem string) error {
	if stem == "" || stem[0] == '.' || strings.ContainsFunc(stem, unfit) {
		return fmt.Errorf("%q cannot begin a file's name: use letters, digits and - _ . +, no dot first", stem)
	}
	return nil
}

// FitStem puts a hyphen for each character that CheckStem refuses, as in the
// name of a file that was made elsewhere.
func FitStem(text string) string {
	fit := strings.Map(func(r rune) rune {
		if unfit(r) {
			return '-'
		}
		return r
	}, text)
	if fit == "" || fit[0] == '.' {
		return "-" + strings.TrimLeft(fit, ".")
	}
	return fit
}

func unfit(r rune) bool {
	return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !strings.ContainsRune("-_.+", r)
}
