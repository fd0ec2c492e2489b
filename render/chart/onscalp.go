package chart

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"

	"calotte/render/paper"
)

const (
	// leastSmall and mostSmall are how wide panels on the scalp are.
	leastSmall      = 6 * paper.MM
	mostSmall       = 30 * paper.MM
	smallNameHeight = .8 * paper.LineHeight
)

// smallShapes are how wide panels may be for their height.
var smallShapes = []vg.Length{.9, 1, 1.15, 1.3, 1.5, 1.75, 2}

// largestPanels is the size of panels of the largest area so that none overlaps
// another with its name, on a page with room for a width. With panels w wide
// and h high, centres need |Δx| ≥ w or |Δy| ≥ h + name.
func (t *Traces) largestPanels(inner vg.Length) (width, height vg.Length) {
	fits := func(w, h vg.Length) bool {
		r := (inner - w) / 2
		for i, a := range t.Places {
			for _, b := range t.Places[:i] {
				if vg.Length(math.Abs(a.X-b.X))*r < w*1.04 &&
					vg.Length(math.Abs(a.Y-b.Y))*r < (h+smallNameHeight)*1.04 {
					return false
				}
			}
		}
		return true
	}
	for _, shape := range smallShapes {
		low, high := vg.Length(0), min(inner/2, mostSmall)
		for range 40 {
			if mid := (low + high) / 2; fits(mid, mid/shape) {
				low = mid
			} else {
				high = mid
			}
		}
		if low*low/shape > width*height {
			width, height = low, low/shape
		}
	}
	return width, height
}

// layOutOnScalp places each panel where its site is, as large as none overlaps
// another, and one with axes as the key to all in a corner.
func (p *TracesPlate) layOutOnScalp() error {
	t, page := p.traces, p.page
	time, amplitude := p.axes()
	p.legend = page.legend(p.traces.Curves)
	page.y += 4
	w, h := t.largestPanels(page.inner())
	if w < leastSmall {
		return fmt.Errorf("%d panels on a head %.0f mm wide would be %.1f mm each: choose fewer sites, or a "+
			"wider figure", len(t.Panels), page.width/paper.MM, w/paper.MM)
	}
	r := (page.inner() - w) / 2
	highest, lowest := math.Inf(-1), math.Inf(1)
	for _, at := range t.Places {
		highest, lowest = max(highest, at.Y), min(lowest, at.Y)
	}
	top := page.y + smallNameHeight
	for k, at := range t.Places {
		left := paper.Margin + (page.inner()-w)/2 + vg.Length(at.X)*r
		y := top + vg.Length(highest-at.Y)*r
		c := Chart{Rect: rect(left, y, left+w, y+h), X: time, Y: amplitude}
		p.charts = append(p.charts, c)
		page.texts = append(page.texts, paper.Line{Text: t.Panels[k].Title, At: vg.Point{X: left, Y: -y + 1}})
	}
	page.y = top + vg.Length(highest-lowest)*r + h + 6
	p.placeKey(time, amplitude)
	page.paragraph(strings.Join(append(p.caption(), "All panels have the axes of the key."), " "), false)
	page.finish()
	return nil
}

// placeKey adds the axes that all panels share, with their numbers.
func (p *TracesPlate) placeKey(time, amplitude Axis) {
	room := LeftRoom(amplitude)
	page := p.page
	page.y += AboveRoom
	width := min(page.inner()*.35, 45*paper.MM)
	key := Chart{Rect: rect(paper.Margin+room, page.y, paper.Margin+room+width, page.y+16*paper.MM),
		X: NewAxis("ms", time.Low, time.High, 4), Y: NewAxis("µV", amplitude.Low, amplitude.High, 6)}
	p.key = &key
	page.texts = append(page.texts, key.Texts()...)
	page.y += 16*paper.MM + BelowRoom + p.windowRoom()
	p.nameWindows(&key)
}

// drawSmallAxes draws the lines of zero through a panel.
func (p *TracesPlate) drawSmallAxes(c vg.Canvas, at *Chart) {
	paper.Stroke(c, paper.Straight(at.Point(at.X.Low, 0), at.Point(at.X.High, 0)), paper.Faded(.6), .4)
}

// drawKey draws the axes with their windows.
func (p *TracesPlate) drawKey(c vg.Canvas) {
	p.key.DrawAxes(c)
	p.drawWindows(c, p.key)
}
