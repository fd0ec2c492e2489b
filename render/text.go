package render

import (
	"image/color"
	"strings"
	"unicode"
	"unicode/utf8"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
)

const (
	// textSize is the size of all type in a figure for print.
	textSize = 7 * vg.Length(1)
	// lineHeight is from baseline to baseline.
	lineHeight = 8.75 * vg.Length(1)
	// descent is how far letters reach below their baseline.
	descent = .22 * textSize
)

// ink is the colour of type and lines.
var ink = color.NRGBA{R: 0x1d, G: 0x23, B: 0x2b, A: 0xff}

// pale parts ink from dark colours.
var pale = color.NRGBA{R: 255, G: 255, B: 255, A: 190}

// faded is the ink with the given opacity, 0 to 1.
func faded(opacity float64) color.NRGBA {
	c := ink
	c.A = uint8(opacity*255 + .5)
	return c
}

// A textLine is one line of type on the page, from the left end of its
// baseline.
type textLine struct {
	text string
	at   vg.Point
	bold bool
}

func (t textLine) face() font.Face  { return canvas.Sans(textSize, t.bold) }
func (t textLine) width() vg.Length { return canvas.TextWidth(t.face(), t.text) }

// box is the rectangle that nothing else may touch.
func (t textLine) box() vg.Rectangle {
	return vg.Rectangle{
		Min: vg.Point{X: t.at.X, Y: t.at.Y - descent},
		Max: vg.Point{X: t.at.X + t.width(), Y: t.at.Y + canvas.CapHeight(t.face())},
	}
}

func (t textLine) draw(c vg.Canvas) { c.FillString(t.face(), t.at, t.text) }

func regularWidth(text string) vg.Length {
	return canvas.TextWidth(canvas.Sans(textSize, false), text)
}

// wrap breaks text at blanks into lines no wider than width. A single word that
// is wider is broken between letters, so that nothing is ever cut.
func wrap(text string, width vg.Length, bold bool) []string {
	measure := func(s string) vg.Length { return canvas.TextWidth(canvas.Sans(textSize, bold), s) }
	var lines []string
	line := ""
	for _, word := range strings.FieldsFunc(text, breakable) {
		joined := word
		if line != "" {
			joined = line + " " + word
		}
		if measure(joined) <= width {
			line = joined
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		line = word
		for measure(line) > width {
			head := breakWord(line, width, measure)
			lines = append(lines, head)
			line = line[len(head):]
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// wrapEvenly wraps, and narrows the lines as long as that takes no more of them
// where the last would be left with a word or two.
func wrapEvenly(text string, width vg.Length, bold bool) []string {
	lines := wrap(text, width, bold)
	last := len(lines) - 1
	if last < 1 || canvas.TextWidth(canvas.Sans(textSize, bold), lines[last]) > width/4 {
		return lines
	}
	for narrower := width - textSize; narrower > width/2; narrower -= textSize {
		next := wrap(text, narrower, bold)
		if len(next) > len(lines) {
			break
		}
		lines = next
		if canvas.TextWidth(canvas.Sans(textSize, bold), lines[last]) > width/3 {
			break
		}
	}
	return lines
}

// breakable tells blanks between words from those that hold a number to its
// unit.
func breakable(r rune) bool { return unicode.IsSpace(r) && r != '\u00a0' }

// breakWord is the longest beginning of a word that fits, at least one letter.
func breakWord(word string, width vg.Length, measure func(string) vg.Length) string {
	_, end := utf8.DecodeRuneInString(word)
	for i := range word {
		if i <= end {
			continue
		}
		if measure(word[:i]) > width {
			break
		}
		end = i
	}
	return word[:end]
}
