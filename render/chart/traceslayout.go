package chart

import (
	"strings"

	"gonum.org/v1/plot/vg"

	"calotte/render/paper"
)

// axes are those of time and of the amplitudes of all panels.
func (p *TracesPlate) axes() (time, amplitude Axis) {
	t := p.traces
	least, greatest := t.extremes()
	amplitude = RoundedAxis("µV", least, greatest, 8)
	switch {
	case t.Limit > 0:
		amplitude = NewAxis("µV", -t.Limit, t.Limit, 7)
	case t.flat():
		amplitude = NewAxis("µV", -1, 1, 3)
	}
	if t.Down {
		amplitude.Low, amplitude.High = amplitude.High, amplitude.Low
	}
	return NewAxis("ms", p.millis[0], p.millis[len(p.millis)-1], 8), amplitude
}

func (p *TracesPlate) layOut() {
	t, page := p.traces, p.page
	time, amplitude := p.axes()
	p.legend = page.legend(p.traces.Curves)
	across := min(len(t.Panels), max(1, int(page.inner()/(widestPanel*.62))))
	if len(t.Panels) == 4 {
		across = min(across, 2)
	}
	pitch := (page.inner() + panelGap) / vg.Length(across)
	room := LeftRoom(amplitude)
	height := min(.5*(pitch-panelGap-room), 45*paper.MM)
	for first := 0; first < len(t.Panels); first += across {
		page.y += paper.LineHeight + AboveRoom
		for k := first; k < min(first+across, len(t.Panels)); k++ {
			left := paper.Margin + vg.Length(k-first)*pitch
			c := Chart{Rect: rect(left+room, page.y, left+pitch-panelGap-paper.TextSize/2, page.y+height),
				X: time,
				Y: amplitude}
			p.charts = append(p.charts, c)
			page.texts = append(page.texts,
				paper.Line{Text: t.Panels[k].Title, Bold: true,
					At: vg.Point{X: c.Rect.Min.X, Y: c.Rect.Max.Y + AboveRoom}})
			page.texts = append(page.texts, c.Texts()...)
			p.nameWindows(&c)
		}
		page.y += height + BelowRoom + p.windowRoom() + 4
	}
	if p.maps != nil {
		p.hangMaps()
		return
	}
	page.paragraph(strings.Join(p.caption(), " "), false)
	page.finish()
}

// windowRoom is what the brackets and their names need below the axis.
func (p *TracesPlate) windowRoom() vg.Length {
	if len(p.traces.Windows) == 0 {
		return 0
	}
	return vg.Length(p.lanes())*(paper.LineHeight+bracketDepth+1) + 2
}

// lanes is how many rows the windows take, so that none overlap.
func (p *TracesPlate) lanes() int {
	most := 0
	for i := range p.traces.Windows {
		most = max(most, p.lane(i)+1)
	}
	return most
}

// lane is the first row in which no earlier window is in the way. Names may be
// wider than their windows, so each takes its own row where they are many.
func (p *TracesPlate) lane(window int) int {
	w := p.traces.Windows
	for lane := 0; ; lane++ {
		free := true
		for j := range window {
			if p.lane(j) == lane && w[j].From < w[window].To+.15 && w[window].From < w[j].To+.15 {
				free = false
			}
		}
		if free {
			return lane
		}
	}
}

// bracketTop is where a window's bracket begins below a chart.
func (p *TracesPlate) bracketTop(c *Chart, window int) vg.Length {
	return c.Rect.Min.Y - BelowRoom - vg.Length(p.lane(window))*(paper.LineHeight+bracketDepth+1)
}

func (p *TracesPlate) nameWindows(c *Chart) {
	for i, w := range p.traces.Windows {
		from, to := c.Point(1000*w.From, c.Y.Low).X, c.Point(1000*w.To, c.Y.Low).X
		x := min(max((from+to)/2-paper.Width(w.Name)/2, c.Rect.Min.X), c.Rect.Max.X-paper.Width(w.Name))
		p.page.texts = append(p.page.texts,
			paper.Line{Text: w.Name,
				At: vg.Point{X: x, Y: p.bracketTop(c, i) - bracketDepth - paper.LineHeight +
					paper.Descent}})
	}
}
