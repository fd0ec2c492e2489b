package chart

import (
	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/paper"
)

// A site's row is so high at most, and all together are; where rows are lower
// than letters only some of them are named.
const (
	mostRowHeight  = 1.1 * paper.LineHeight
	mostRowsHeight = 130 * paper.MM
	headingHeight  = 1.2 * paper.LineHeight
)

// rows are where the sites of a picture lie: ends of each as shares of the
// height, from the top.
type rows struct {
	height      vg.Length
	top, bottom []float64
	heading     []float64 // the end of the heading of each group
}

// layRows gives sites rows of one height, below the headings of their groups.
func layRows(sites int, groups []Group) rows {
	headings := headingHeight * vg.Length(len(groups))
	pitch := min(mostRowHeight, (mostRowsHeight-headings)/vg.Length(sites))
	r := rows{height: headings + pitch*vg.Length(sites)}
	if groups == nil {
		groups = []Group{{Sites: sites}}
	}
	y := vg.Length(0)
	for _, g := range groups {
		if headings > 0 {
			y += headingHeight
		}
		r.heading = append(r.heading, float64(y/r.height))
		for range g.Sites {
			r.top = append(r.top, float64(y/r.height))
			y += pitch
			r.bottom = append(r.bottom, float64(y/r.height))
		}
	}
	return r
}

// at is the site at a share of the height, -1 where there is none.
func (r rows) at(share float64) int {
	for i := range r.top {
		if share >= r.top[i] && share < r.bottom[i] {
			return i
		}
	}
	return -1
}

// names are those of the groups, and of as many sites as there is room for.
func (p *SiteTimePlate) names() []paper.Line {
	s := p.picture
	down := canvas.CapHeight(canvas.Sans(paper.TextSize, false)) / 2
	left := p.chart.Rect.Min.X - paper.TextSize/2
	var lines []paper.Line
	for k, g := range s.Groups {
		lines = append(lines, paper.Line{Text: g.Title, Bold: true,
			At: vg.Point{X: p.chart.Rect.Min.X + paper.TextSize/2,
				Y: p.chart.Point(0, p.rows.heading[k]).Y + paper.Descent}})
	}
	last := vg.Length(0)
	for i, name := range s.Sites {
		y := p.chart.Point(0, (p.rows.top[i]+p.rows.bottom[i])/2).Y - down
		if i > 0 && last-y < paper.LineHeight {
			continue
		}
		last = y
		lines = append(lines, paper.Line{Text: name, At: vg.Point{X: left - paper.Width(name), Y: y}})
	}
	return lines
}

// outline goes around the points that are strong.
func (p *SiteTimePlate) outline() vg.Path {
	s := p.picture
	var path vg.Path
	if s.Strong == nil {
		return path
	}
	strong := func(i, k int) bool {
		return i >= 0 && k >= 0 && i < len(s.Sites) && k < len(s.Times) && s.Strong[i][k]
	}
	line := func(t0, y0, t1, y1 float64) {
		path.Move(p.edge(t0, y0))
		path.Line(p.edge(t1, y1))
	}
	for i := range s.Sites {
		// a heading may part a site from the one above or below
		above := i > 0 && p.rows.top[i] == p.rows.bottom[i-1]
		below := i+1 < len(s.Sites) && p.rows.top[i+1] == p.rows.bottom[i]
		for k := range len(s.Times) + 1 {
			at := float64(k)
			if strong(i, k) && !(above && strong(i-1, k)) {
				line(at, p.rows.top[i], at+1, p.rows.top[i])
			}
			if strong(i, k) && !(below && strong(i+1, k)) {
				line(at, p.rows.bottom[i], at+1, p.rows.bottom[i])
			}
			if strong(i, k) != strong(i, k-1) {
				line(at, p.rows.top[i], at, p.rows.bottom[i])
			}
		}
	}
	return path
}

// edge is where a sample begins, at a share of the height.
func (p *SiteTimePlate) edge(sample, share float64) vg.Point {
	size := p.chart.Rect.Size()
	return vg.Point{X: p.chart.Rect.Min.X + size.X*vg.Length(sample/float64(len(p.picture.Times))),
		Y: p.chart.Point(0, share).Y}
}
