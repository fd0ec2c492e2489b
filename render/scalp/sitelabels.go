package scalp

import (
	"image/color"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/plot/vg"

	"calotte/layout"
	"calotte/render/canvas"
	"calotte/render/paper"
)

// siteLabels chooses the names that have room on a map: beside their own mark,
// covering no other and clearly nearer to its own, inside the edge and clear of
// each other. The sites of the 10-20 system come first, then those of 10-10,
// then the others. Where letters already name the landmarks, these are not
// named again.
func siteLabels(at Frame, marks []Mark, radius vg.Length, letters bool) []paper.Line {
	face := canvas.Sans(paper.TextSize, false)
	height := canvas.CapHeight(face)
	points := make([]vg.Point, len(marks))
	for i, m := range marks {
		points[i] = at.Project(m.Site.Position)
	}
	clear := 1.4*radius + .5 // from a mark's middle to its name
	var taken []vg.Rectangle
	var labels []paper.Line
	for _, i := range ByRank(marks) {
		if letters && IsLandmark(marks[i].Site.Name) {
			continue
		}
		width := canvas.TextWidth(face, marks[i].Site.Name)
		for _, corner := range []vg.Point{ // lower left corner from the mark: above, below, right, left
			{X: -width / 2, Y: clear},
			{X: -width / 2, Y: -clear - height},
			{X: clear, Y: -height / 2},
			{X: -clear - width, Y: -height / 2},
		} {
			low := points[i].Add(corner)
			box := vg.Rectangle{Min: low, Max: low.Add(vg.Point{X: width, Y: height})}
			ground := paper.Grown(box, LabelMargin)
			if at.Holds(box) && belongs(box, i, points, radius) &&
				!slices.ContainsFunc(taken,
					func(r vg.Rectangle) bool { return paper.Overlap(ground, r) }) {
				taken = append(taken, ground)
				labels = append(labels, paper.Line{Text: marks[i].Site.Name, At: low})
				break
			}
		}
	}
	return labels
}

// LabelMargin is how far the pale ground of a name reaches beyond it.
const LabelMargin = .7 * vg.Length(1)

// belongs reports whether a box covers no mark, and its middle is nearer to its
// own than to any other by a fifth.
func belongs(box vg.Rectangle, own int, points []vg.Point, radius vg.Length) bool {
	middle := box.Min.Add(box.Max).Scale(.5)
	distance := func(p vg.Point) float64 { return math.Hypot(float64(p.X-middle.X), float64(p.Y-middle.Y)) }
	least := 1.2 * distance(points[own])
	for i, p := range points {
		mark := paper.Grown(vg.Rectangle{Min: p, Max: p}, radius+.3)
		if i != own && (distance(p) < least || paper.Overlap(mark, box)) {
			return false
		}
	}
	return true
}

// IsLandmark reports whether a site is one of the marks of the head.
func IsLandmark(name string) bool {
	return slices.ContainsFunc(landmarks[Top], func(l landmark) bool { return strings.EqualFold(l.name, name) })
}

// ByRank orders marks by how well their site is known, and as given among
// equals.
func ByRank(marks []Mark) []int {
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

// Holds reports whether a box lies inside the map's edge.
func (f Frame) Holds(box vg.Rectangle) bool {
	for _, x := range []vg.Length{box.Min.X, box.Max.X} {
		for _, y := range []vg.Length{box.Min.Y, box.Max.Y} {
			p := r2.Vec{X: float64((x - f.Center.X) / f.Right), Y: float64((y - f.Center.Y) / f.Front)}
			if r2.Norm(p) > .985 || f.View.inside(f.View.rolled(p)) < .015 {
				return false
			}
		}
	}
	return true
}

// drawSiteLabels writes names on a pale ground that keeps them readable on
// dark colours.
func drawSiteLabels(c vg.Canvas, labels []paper.Line) {
	var grounds vg.Path
	for _, l := range labels {
		box := l.Box()
		box.Min.Y = l.At.Y
		paper.Rectangle(&grounds, paper.Grown(box, LabelMargin))
	}
	paper.Fill(c, grounds, color.NRGBA{R: 255, G: 255, B: 255, A: 175})
	c.SetColor(paper.Ink)
	for _, l := range labels {
		l.Draw(c)
	}
}
