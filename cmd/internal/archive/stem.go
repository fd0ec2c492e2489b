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
// begin a hidden one, or one that a command takes for an option: a stem is made
// of letters, digits and - _ . + and begins with neither dot nor hyphen.
func CheckStem(stem string) error {
	if stem == "" || badFirst(stem[0]) || strings.ContainsFunc(stem, unfit) {
		return fmt.Errorf("%q cannot begin a file's name: use letters, digits and - _ . +, neither dot nor "+
			"hyphen first", stem)
	}
	return nil
}

// FitStem puts a hyphen for each character that CheckStem refuses, as in the
// name of a file that was made elsewhere, and _ for the first one.
func FitStem(text string) string {
	fit := strings.Map(func(r rune) rune {
		if unfit(r) {
			return '-'
		}
		return r
	}, text)
	switch {
	case fit == "":
		return "_"
	case badFirst(fit[0]):
		return "_" + fit[1:]
	}
	return fit
}

func badFirst(c byte) bool { return c == '.' || c == '-' }

func unfit(r rune) bool {
	return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !strings.ContainsRune("-_.+", r)
}
