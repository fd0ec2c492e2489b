package chart

import (
	"strings"

	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/paper"
)

// hangRoom is the height of the lines from the windows down to their maps.
const hangRoom = 16 * vg.Length(1)

// composeMaps lays the maps out as wide as the page; their legend says what the
// reader of the waveforms has to know as well.
func (p *TracesPlate) composeMaps() error {
	sheet := *p.traces.Maps
	sheet.Width = p.page.width
	sheet.Remarks = append([]string{}, sheet.Remarks...)
	said := strings.Join(sheet.Remarks, " ")
	for _, text := range p.caption() {
		if text != "Synthetic data." && !strings.HasPrefix(text, "Reference") && !strings.Contains(said, text) {
			sheet.Remarks = append(sheet.Remarks, text)
		}
	}
	var err error
	p.maps, err = sheet.Compose()
	return err
}

// hangMaps places the maps below the charts.
func (p *TracesPlate) hangMaps() {
	p.page.y += hangRoom
	p.hang = p.page.y - paper.Margin // the sheet has a margin of its own
	_, height := p.maps.Size()
	p.page.y = p.hang + height - paper.Margin
	p.page.finish()
}

// drawMaps draws the maps and, where one chart stands above them, the lines
// that each depends on.
func (p *TracesPlate) drawMaps(c canvas.Canvas) {
	_, height := p.maps.Size()
	c.Push()
	c.Translate(vg.Point{Y: -p.hang - height})
	p.maps.Draw(c)
	c.Pop()
	if len(p.charts) != 1 {
		return
	}
	at := &p.charts[0]
	// Maps of further lines stand too far down to be followed by the eye.
	for i, middle := range p.maps.FirstLine() {
		w := p.traces.Windows[i]
		from := vg.Point{X: at.Point(500*(w.From+w.To), at.Y.Low).X,
			Y: p.bracketTop(at, i) - bracketDepth - paper.LineHeight - 1}
		to := vg.Point{X: middle, Y: -p.hang - paper.Margin + 3}
		var path vg.Path
		path.Move(from)
		path.Line(vg.Point{X: from.X, Y: to.Y + hangRoom*.55})
		path.Line(vg.Point{X: to.X, Y: to.Y + hangRoom*.2})
		path.Line(to)
		paper.Stroke(c, path, paper.Faded(.6), .5)
	}
}
