package chart

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/paper"
)

// Intervals are dots with whiskers, a line of text each: differences of pairs,
// say, with what is known of them.
type Intervals struct {
	Title string
	Unit  string // of the values, "right minus left, µV"
	Lines []Interval
	Ends  [2]string // what values below and above zero mean, over the lines; empty: nothing
	Width vg.Length // zero is 180 mm
	// Caption says what the whiskers are.
	Caption string
}

// An Interval is one value; whiskers that are not known are NaN.
type Interval struct {
	Name             string
	Value, Low, High float64
	Joint            float64 // half of thin whiskers about the value; NaN or zero: none
	Note             string  // to the right of it
	Open             bool    // an open dot: a side is repaired
}

// An IntervalsPlate is Intervals whose page is laid out. It is a canvas.Figure.
type IntervalsPlate struct {
	intervals *Intervals
	page      *chartPage
	chart     Chart
}

// Compose checks the intervals and lays out the page.
func (s *Intervals) Compose() (*IntervalsPlate, error) {
	if len(s.Lines) == 0 {
		return nil, fmt.Errorf("there are no intervals to draw")
	}
	low, high := 0., 0.
	for _, l := range s.Lines {
		for _, v := range []float64{l.Value, l.Low, l.High, l.Value - l.Joint, l.Value + l.Joint} {
			if math.IsInf(v, 0) || math.IsNaN(l.Value) {
				return nil, fmt.Errorf("%s has the value %g: expected a number", l.Name, v)
			}
			if !math.IsNaN(v) {
				low, high = min(low, v), max(high, v)
			}
		}
	}
	page, err := newChartPage(s.Width)
	if err != nil {
		return nil, err
	}
	if low == high {
		low, high = -1, 1
	}
	p := &IntervalsPlate{intervals: s, page: page}
	p.layOut(RoundedAxis(s.Unit, low, high, 8))
	return p, nil
}

// intervalPitch is from one line to the next.
const intervalPitch = paper.LineHeight * 1.25

func (p *IntervalsPlate) layOut(x Axis) {
	s, page := p.intervals, p.page
	names, notes := vg.Length(0), vg.Length(0)
	for _, l := range s.Lines {
		names, notes = max(names, paper.Width(l.Name)), max(notes, paper.Width(l.Note))
	}
	if s.Title != "" {
		page.paragraph(s.Title, true)
		page.y += 3
	}
	left := paper.Margin + names + 2*paper.TextSize
	right := max(page.width-paper.Margin-notes-2*paper.TextSize, left+40*paper.MM)
	p.head(x, left, right)
	height := intervalPitch * vg.Length(len(s.Lines))
	p.chart = Chart{
		Rect: rect(left, page.y, right, page.y+height), X: x,
		Y: downAxis(len(s.Lines)),
	}
	half := canvas.CapHeight(canvas.Sans(paper.TextSize, false)) / 2
	for i, l := range s.Lines {
		y := p.chart.Point(0, float64(i)+.5).Y - half
		page.texts = append(page.texts,
			paper.Line{Text: l.Name, At: vg.Point{X: paper.Margin, Y: y}},
			paper.Line{Text: l.Note, At: vg.Point{X: right + paper.TextSize, Y: y}})
	}
	page.texts = append(page.texts, p.chart.Texts()...)
	page.y += height + BelowRoom + 2
	if s.Caption != "" {
		page.paragraph(s.Caption, false)
	}
	page.finish()
}

// head says what the two sides of zero mean: beside it in one line, or in two
// where they do not fit beside each other.
func (p *IntervalsPlate) head(x Axis, left, right vg.Length) {
	ends, page := p.intervals.Ends, p.page
	if ends == [2]string{} {
		return
	}
	const gap = paper.TextSize / 2
	zero := left + (right-left)*vg.Length(-x.Low/(x.High-x.Low))
	first := max(paper.Margin, zero-gap-paper.Width(ends[0]))
	after := first + paper.Width(ends[0]) + 2*gap
	second := min(max(zero+gap, after), page.width-paper.Margin-paper.Width(ends[1]))
	put := func(text string, at vg.Length) {
		page.y += paper.LineHeight
		page.texts = append(page.texts, paper.Line{Text: text, At: vg.Point{X: at, Y: -(page.y - paper.Descent)}})
	}
	put(ends[0], first)
	if second >= after {
		page.y -= paper.LineHeight
	}
	put(ends[1], second)
	page.y += 2
}

// Size of the page, in whole picture elements.
func (p *IntervalsPlate) Size() (width, height vg.Length) { return p.page.width, p.page.height }

// Title is that of the intervals.
func (p *IntervalsPlate) Title() string { return p.intervals.Title }

// Description says in words what is shown.
func (p *IntervalsPlate) Description() string {
	var texts []string
	for _, l := range p.intervals.Lines {
		text := l.Name + " " + paper.Number(l.Value, 3)
		if !math.IsNaN(l.Low) {
			text += fmt.Sprintf(" (%s to %s)", paper.Number(l.Low, 3), paper.Number(l.High, 3))
		}
		texts = append(texts, text)
	}
	return p.intervals.Unit + ": " + strings.Join(texts, "; ") + ". " + p.intervals.Caption
}

// Draw draws the intervals.
func (p *IntervalsPlate) Draw(c canvas.Canvas) {
	p.page.onPage(c, func() {
		at := &p.chart
		zero := at.Point(0, 0).X
		paper.Stroke(c, paper.Straight(vg.Point{X: zero, Y: at.Rect.Min.Y},
			vg.Point{X: zero, Y: at.Rect.Max.Y}),
			paper.Faded(.5), .5)
		paper.Stroke(c, paper.Straight(at.Rect.Min, vg.Point{X: at.Rect.Max.X, Y: at.Rect.Min.Y}), paper.Ink,
			.6)
		for _, t := range at.X.Ticks() {
			x := at.Point(t.Value, 0).X
			paper.Stroke(c, paper.Straight(vg.Point{X: x, Y: at.Rect.Min.Y},
				vg.Point{X: x, Y: at.Rect.Min.Y - paper.TickLength}), paper.Ink, .5)
		}
		for i, l := range p.intervals.Lines {
			y := float64(i) + .5
			if l.Joint > 0 {
				paper.Stroke(c, paper.Straight(at.Point(l.Value-l.Joint, y), at.Point(l.Value+l.Joint, y)),
					paper.Ink, .35)
			}
			if !math.IsNaN(l.Low) {
				paper.Stroke(c, paper.Straight(at.Point(l.Low, y), at.Point(l.High, y)), paper.Ink, 1.2)
			}
			dot(c, at.Point(l.Value, y), 2, !l.Open)
		}
	})
}
