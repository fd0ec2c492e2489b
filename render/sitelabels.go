package render

import (
	"image/color"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/plot/vg"

	"calotte/layout"
	"calotte/render/canvas"
)

// siteLabels chooses the names that have room on a map: beside their own mark,
// inside the edge, clear of every mark and of each other. The sites of the
// 10-20 system come first, then those of 10-10, then the others. Where letters
// already name the landmarks, these are not named again.
func siteLabels(at frame, marks []Mark, radius vg.Length, letters bool) []textLine {
	face := canvas.Sans(textSize, false)
	height := canvas.CapHeight(face)
	var taken []vg.Rectangle
	points := make([]vg.Point, len(marks))
	for i, m := range marks {
		points[i] = at.project(m.Site.Position)
		taken = append(taken, around(points[i], radius))
	}
	var labels []textLine
	for _, i := range byRank(marks) {
		if letters && isLandmark(marks[i].Site.Name) {
			continue
		}
		width := canvas.TextWidth(face, marks[i].Site.Name)
		clear := 1.5*radius + 1
		for _, corner := range []vg.Point{ // lower left corner from the mark: above, below, right, left
			{X: -width / 2, Y: clear},
			{X: -width / 2, Y: -clear - height},
			{X: clear, Y: -height / 2},
			{X: -clear - width, Y: -height / 2},
		} {
			low := points[i].Add(corner)
			box := vg.Rectangle{Min: low, Max: low.Add(vg.Point{X: width, Y: height})}
			if !at.holds(box) || slices.ContainsFunc(taken, func(r vg.Rectangle) bool { return overlap(grown(box, .7), r) }) {
				continue
			}
			taken = append(taken, grown(box, .7))
			labels = append(labels, textLine{text: marks[i].Site.Name, at: low})
			break
		}
	}
	return labels
}

func isLandmark(name string) bool {
	return slices.ContainsFunc(landmarks[:], func(l landmark) bool { return strings.EqualFold(l.name, name) })
}

// byRank orders marks by how well their site is known, and as given among
// equals.
func byRank(marks []Mark) []int {
	rank := map[layout.Name]int{}
	for _, n := range layout.Set1010() {
		rank[n] = 1
	}
	for _, n := range layout.Set1020() {
		rank[n] = 0
	}
	rankOf := func(i int) int {
		name, err := layout.Parse(marks[i].Site.Name)
		if r, ok := rank[name]; ok && err == nil {
			return r
		}
		return 2
	}
	order := make([]int, len(marks))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return rankOf(a) - rankOf(b) })
	return order
}

// holds reports whether a box lies inside the map's edge.
func (f frame) holds(box vg.Rectangle) bool {
	for _, x := range []vg.Length{box.Min.X, box.Max.X} {
		for _, y := range []vg.Length{box.Min.Y, box.Max.Y} {
			p := r2.Vec{X: float64((x - f.center.X) / f.right), Y: float64((y - f.center.Y) / f.front)}
			if r2.Norm(p) > .985 {
				return false
			}
		}
	}
	return true
}

func around(p vg.Point, radius vg.Length) vg.Rectangle {
	return grown(vg.Rectangle{Min: p, Max: p}, radius)
}

func grown(r vg.Rectangle, by vg.Length) vg.Rectangle {
	d := vg.Point{X: by, Y: by}
	return vg.Rectangle{Min: r.Min.Sub(d), Max: r.Max.Add(d)}
}

func overlap(a, b vg.Rectangle) bool {
	return a.Min.X < b.Max.X && b.Min.X < a.Max.X && a.Min.Y < b.Max.Y && b.Min.Y < a.Max.Y
}

// drawSiteLabels writes names on a pale ground that keeps them readable on
// dark colours.
func drawSiteLabels(c vg.Canvas, labels []textLine) {
	var grounds vg.Path
	for _, l := range labels {
		box := l.box()
		box.Min.Y = l.at.Y
		rectangle(&grounds, grown(box, .7))
	}
	fillPath(c, grounds, color.NRGBA{R: 255, G: 255, B: 255, A: 175})
	c.SetColor(ink)
	for _, l := range labels {
		l.draw(c)
	}
}

func rectangle(p *vg.Path, r vg.Rectangle) {
	p.Move(r.Min)
	p.Line(vg.Point{X: r.Max.X, Y: r.Min.Y})
	p.Line(r.Max)
	p.Line(vg.Point{X: r.Min.X, Y: r.Max.Y})
	p.Close()
}
