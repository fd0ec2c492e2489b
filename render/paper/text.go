package paper

import (
	"image/color"
	"strings"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
)

const (
	// TextSize is the size of all type in a figure for print.
	TextSize = 7 * vg.Length(1)
	// LineHeight is from baseline to baseline.
	LineHeight = 8.75 * vg.Length(1)
	// Descent is how far letters reach below their baseline.
	Descent = .22 * TextSize
)

// Ink is the colour of type and lines.
var Ink = color.NRGBA{R: 0x1d, G: 0x23, B: 0x2b, A: 0xff}

// Pale parts ink from dark colours.
var Pale = color.NRGBA{R: 255, G: 255, B: 255, A: 190}

// Faded is the ink with the given opacity, 0 to 1.
func Faded(opacity float64) color.NRGBA {
	c := Ink
	c.A = uint8(opacity*255 + .5)
	return c
}

// A Line is one line of type on the page, from the left end of its
// baseline.
type Line struct {
	Text string
	At   vg.Point
	Bold bool
}

// Face is the typeface of the line.
func (t Line) Face() font.Face { return canvas.Sans(TextSize, t.Bold) }

// Width is how long the line is.
func (t Line) Width() vg.Length { return canvas.TextWidth(t.Face(), t.Text) }

// Box is the rectangle that nothing else may touch.
func (t Line) Box() vg.Rectangle {
	return vg.Rectangle{
		Min: vg.Point{X: t.At.X, Y: t.At.Y - Descent},
		Max: vg.Point{X: t.At.X + t.Width(), Y: t.At.Y + canvas.CapHeight(t.Face())},
	}
}

// Draw writes the line.
func (t Line) Draw(c vg.Canvas) { c.FillString(t.Face(), t.At, t.Text) }

// Width is how long a text is in the regular type.
func Width(text string) vg.Length {
	return canvas.TextWidth(canvas.Sans(TextSize, false), text)
}

// Letters is the rectangle that a name's letters cover. Few names have one that
// reaches below the baseline.
func (t Line) Letters(height vg.Length) vg.Rectangle {
	box := vg.Rectangle{Min: t.At, Max: t.At.Add(vg.Point{X: t.Width(), Y: height})}
	if strings.ContainsAny(t.Text, "gjpqyQ") {
		box.Min.Y -= Descent
	}
	return box
}
