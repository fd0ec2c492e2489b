package paper

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
)

// Wrap breaks text into lines of this type no wider than width.
func Wrap(text string, width vg.Length, bold bool) []string {
	face := canvas.Sans(TextSize, bold)
	return Break(text, func(line string) bool { return canvas.TextWidth(face, line) <= width })
}

// WrapEvenly wraps, and narrows the lines as long as that takes no more of them
// where the last would be left with a word or two.
func WrapEvenly(text string, width vg.Length, bold bool) []string {
	lines := Wrap(text, width, bold)
	last := len(lines) - 1
	if last < 1 || canvas.TextWidth(canvas.Sans(TextSize, bold), lines[last]) > width/4 {
		return lines
	}
	for narrower := width - TextSize; narrower > width/2; narrower -= TextSize {
		next := Wrap(text, narrower, bold)
		if len(next) > len(lines) {
			break
		}
		lines = next
		if canvas.TextWidth(canvas.Sans(TextSize, bold), lines[last]) > width/3 {
			break
		}
	}
	return lines
}

// Break breaks text at blanks into lines that fit. A single word that does not
// is broken between letters, so that nothing is ever cut.
func Break(text string, fits func(line string) bool) []string {
	var lines []string
	line := ""
	for _, word := range strings.FieldsFunc(text, breakable) {
		joined := word
		if line != "" {
			joined = line + " " + word
		}
		if fits(joined) {
			line = joined
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		line = word
		for line != "" && !fits(line) {
			head := breakWord(line, fits)
			lines = append(lines, head)
			line = line[len(head):]
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// breakable tells blanks between words from those that hold a number to its
// unit.
func breakable(r rune) bool { return unicode.IsSpace(r) && r != '\u00a0' }

// breakWord is the longest beginning of a word that fits, at least one letter.
func breakWord(word string, fits func(string) bool) string {
	_, end := utf8.DecodeRuneInString(word)
	for i := range word {
		if i <= end {
			continue
		}
		if !fits(word[:i]) {
			break
		}
		end = i
	}
	return word[:end]
}
