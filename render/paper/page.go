package paper

import "gonum.org/v1/plot/vg"

// A Page is a page that is filled with text from the top: lengths from the
// upper left corner, y negative downward.
type Page struct {
	Width, Height vg.Length
	Inner         vg.Length // width between the margins
	Y             vg.Length // how far down it is filled
	Texts         []Line
}

// Text sets one line with its baseline where the page is filled to, less the
// letters' descent.
func (l *Page) Text(text string, x vg.Length, bold bool) {
	l.Texts = append(l.Texts, Line{Text: text, At: vg.Point{X: x, Y: -(l.Y - Descent)}, Bold: bold})
}

// Paragraph sets text in lines below each other.
func (l *Page) Paragraph(text string, x, width vg.Length, bold bool) {
	for _, line := range WrapEvenly(text, width, bold) {
		l.Y += LineHeight
		l.Text(line, x, bold)
	}
}

// Hanging sets a paragraph with its number to the left.
func (l *Page) Hanging(number, text string, x, indent, width vg.Length) {
	for i, line := range Wrap(text, width-indent, false) {
		l.Y += LineHeight
		if i == 0 {
			l.Text(number, x, false)
		}
		l.Text(line, x+indent, false)
	}
}
