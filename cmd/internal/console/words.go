package console

import (
	"fmt"
	"regexp"
	"slices"
	"sync"
)

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
var parsing = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`strconv\..*`) })

// PlainReason is an error's text without the names of functions.
func PlainReason(text string) string { return parsing().ReplaceAllString(text, "expected a number") }

// Nearest is the word of a list that another is a slip of: with no more than
// two letters added, lost, exchanged or wrong. It is empty where none is.
func Nearest(word string, list []string) string {
	const most = 2
	best, least := "", most+1
	for _, other := range list {
		if d := letters(word, other); d < least && 2*d < len(other) {
			best, least = other, d
		}
	}
	return best
}

// letters is the number of letters by which two words differ (the restricted
// distance of F. J. Damerau, "A technique for computer detection and correction
// of spelling errors", Communications of the ACM 7:171, 1964; from memory).
func letters(a, b string) int {
	rows := make([][]int, len(a)+1)
	for i := range rows {
		rows[i] = make([]int, len(b)+1)
		rows[i][0] = i
	}
	for j := range rows[0] {
		rows[0][j] = j
	}
	for i := 1; i <= len(a); i++ {
		for j := 1; j <= len(b); j++ {
			wrong := 1
			if a[i-1] == b[j-1] {
				wrong = 0
			}
			d := min(rows[i-1][j]+1, rows[i][j-1]+1, rows[i-1][j-1]+wrong)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				d = min(d, rows[i-2][j-2]+1)
			}
			rows[i][j] = d
		}
	}
	return rows[len(a)][len(b)]
}
