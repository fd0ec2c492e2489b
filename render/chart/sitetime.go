package chart

import (
	"cmp"
	"errors"
	"fmt"
	"image"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"

	"calotte/layout"
	"calotte/render/canvas"
	"calotte/render/palette"
	"calotte/render/paper"
	"calotte/render/scalp"
)

// A SiteTime is a picture of a statistic at every site and sample: a row of
// colour for each site, time to the right, pale where Strong does not hold and
// with a line around where it does.
type SiteTime struct {
	Title   string
	Sites   []string // from the top
	Groups  []Group  // of the sites, in their order; nil: they are one, without a name
	Times   []float64
	Values  [][]float64 // site × sample
	Strong  [][]bool    // like Values; nil: everywhere
	Unit    string      // of the values, "t"
	Limit   float64     // at the ends of the scale; zero: what the values need
	Palette scalp.Palette
	Width   vg.Length // zero is 180 mm
	Caption string
}

// A Group is sites that stand below each other under a name.
type Group struct {
	Title string
	Sites int
}

// A SiteTimePlate is a SiteTime whose page is laid out. It is a canvas.Figure.
type SiteTimePlate struct {
	picture *SiteTime
	page    *chartPage
	chart   Chart
	rows    rows
	bar     vg.Rectangle
	scale   scalp.Scale
}

// Compose checks the picture and lays out the page.
func (s *SiteTime) Compose() (*SiteTimePlate, error) {
	if len(s.Sites) == 0 || len(s.Times) < 2 || len(s.Values) != len(s.Sites) {
		return nil, errors.New("a picture of sites over time needs a row for each site and two samples")
	}
	most := 0.
	for i, row := range s.Values {
		if len(row) != len(s.Times) || s.Strong != nil && len(s.Strong[i]) != len(s.Times) {
			return nil, fmt.Errorf("%s has other than %d samples", s.Sites[i], len(s.Times))
		}
		for _, v := range row {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return nil, fmt.Errorf("%s has the value %g: expected numbers", s.Sites[i], v)
			}
			most = max(most, math.Abs(v))
		}
	}
	grouped := 0
	for _, g := range s.Groups {
		grouped += g.Sites
	}
	if s.Groups != nil && grouped != len(s.Sites) {
		return nil, fmt.Errorf("groups of %d sites, and there are %d", grouped, len(s.Sites))
	}
	page, err := newChartPage(s.Width)
	if err != nil {
		return nil, err
	}
	p := &SiteTimePlate{picture: s, page: page, scale: scalp.Scale{Limit: s.Limit}}
	if s.Limit == 0 {
		p.scale.Limit = scalp.NiceLimit(most)
	}
	p.scale.Step = scalp.ContourStep(p.scale.Limit, 0)
	p.layOut()
	return p, nil
}

func (p *SiteTimePlate) layOut() {
	s, page := p.picture, p.page
	page.paragraph(s.Title, true)
	page.y += 3
	names := vg.Length(0)
	for _, n := range s.Sites {
		names = max(names, paper.Width(n))
	}
	p.rows = layRows(len(s.Sites), s.Groups)
	left := paper.Margin + names + paper.TextSize
	height := p.rows.height
	half := 500 * (s.Times[1] - s.Times[0])
	p.chart = Chart{
		Rect: rect(left, page.y, page.width-paper.Margin-paper.TextSize, page.y+height),
		X:    NewAxis("ms", 1000*s.Times[0]-half, 1000*s.Times[len(s.Times)-1]+half, 8),
		Y:    downAxis(1),
	}
	page.texts = append(page.texts, p.names()...)
	page.texts = append(page.texts, p.chart.Texts()...)
	page.y += height + BelowRoom + paper.LineHeight
	page.texts = append(page.texts,
		paper.Line{Text: s.Unit, At: vg.Point{X: paper.Margin, Y: -(page.y - paper.Descent)}})
	ticks := p.scale.Ticks()
	overhang := paper.Width(paper.TickText(-p.scale.Limit))/2 + 2
	p.bar = rect(paper.Margin+overhang, page.y+2, paper.Margin+overhang+50*paper.MM, page.y+2+paper.BarHeight)
	page.y += 2 + paper.BarHeight + 2 + paper.LineHeight
	every := paper.LabelEvery(ticks, len(ticks)/2, 50*paper.MM)
	for k := len(ticks) / 2 % every; k < len(ticks); k += every {
		text := paper.TickText(ticks[k])
		page.texts = append(page.texts,
			paper.Line{Text: text, At: vg.Point{X: p.scale.TickX(p.bar, ticks[k]) - paper.Width(text)/2,
				Y: -(page.y - paper.Descent)}})
	}
	if s.Caption != "" {
		page.y += 2
		page.paragraph(s.Caption, false)
	}
	page.finish()
}

// Size of the page, in whole picture elements.
func (p *SiteTimePlate) Size() (width, height vg.Length) { return p.page.width, p.page.height }

// Limit is the value at the ends of the scale.
func (p *SiteTimePlate) Limit() float64 { return p.scale.Limit }

// Title is that of the picture.
func (p *SiteTimePlate) Title() string { return p.picture.Title }

// Description says in words what is shown.
func (p *SiteTimePlate) Description() string {
	return fmt.Sprintf("%s, %s at %s over time. %s", p.picture.Title, p.picture.Unit,
		strings.Join(p.picture.Sites, ", "), p.picture.Caption)
}

// Draw draws the picture.
func (p *SiteTimePlate) Draw(c canvas.Canvas) {
	s := p.picture
	table := palette.NewTable(s.Palette.Signed().At)
	p.page.onPage(c, func() {
		at := &p.chart
		r, size := c.Pixels(at.Rect)
		c.DrawImage(r, p.raster(size, table))
		if at.X.Low < 0 && at.X.High > 0 {
			paper.Stroke(c, paper.Straight(at.Point(0, 0), at.Point(0, 1)), paper.Faded(.6), .6)
		}
		paper.Stroke(c, p.outline(), paper.Ink, .5)
		at.DrawAxes(c)
		c.DrawImage(p.bar, palette.Bar(table))
		var edge vg.Path
		paper.Rectangle(&edge, p.bar)
		paper.Stroke(c, edge, paper.Ink, .5)
		for _, t := range p.scale.Ticks() {
			x := p.scale.TickX(p.bar, t)
			paper.Stroke(c, paper.Straight(vg.Point{X: x, Y: p.bar.Min.Y},
				vg.Point{X: x, Y: p.bar.Min.Y - paper.TickLength}), paper.Ink, .5)
		}
	})
}

// raster colours each pixel by the sample and the site that it lies in.
func (p *SiteTimePlate) raster(size image.Point, table palette.Table) image.Image {
	s, pale := p.picture, table.Pale()
	img := image.NewRGBA(image.Rectangle{Max: size})
	for y := range size.Y {
		site := p.rows.at((float64(y) + .5) / float64(size.Y))
		if site < 0 {
			continue
		}
		for x := range size.X {
			sample := x * len(s.Times) / size.X
			colours := table
			if s.Strong != nil && !s.Strong[site][sample] {
				colours = pale
			}
			img.SetRGBA(x, y, colours.At(s.Values[site][sample]/p.scale.Limit))
		}
	}
	return img
}

// FrontToBack is the order of sites in such a picture, by index: from the front
// of the head to the back, and in each stripe of 8 mm from left to right.
func FrontToBack(sites []layout.Site) []int {
	order := make([]int, len(sites))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		p, q := sites[a].Position, sites[b].Position
		row := func(y float64) float64 { return math.Round(y / 8) }
		// T9 lies right below C5: which comes first is not left to
		// rounding, but goes over the head from ear to ear.
		column := func(x float64) float64 { return math.Round(x * 1e6) }
		return cmp.Or(cmp.Compare(row(q.Y), row(p.Y)), cmp.Compare(column(p.X), column(q.X)),
			cmp.Compare(q.Z*q.X, p.Z*p.X))
	})
	return order
}
