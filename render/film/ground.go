package film

import (
	"image"
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/chart"
	"calotte/render/paper"
	"calotte/render/scalp"
)

// A filmGround is the part of the frames that stands still, as a figure: Lines
// holds only what is drawn over the fields, rims only the pale rims of the
// marks.
type filmGround struct {
	plate       *Plate
	lines, rims bool
}

const (
	filmMargin  = 6 * vg.Length(1)
	filmChart   = 40 * vg.Length(1) // the height of a chart of field power
	stampHeight = 11 * vg.Length(1)
)

func (g filmGround) Title() string       { return g.plate.Title() }
func (g filmGround) Description() string { return "" }

func (g filmGround) Size() (width, height vg.Length) {
	inches := vg.Length(g.plate.film.Side) / filmDots
	return inches * vg.Inch * vg.Length(len(g.plate.shows)), inches * vg.Inch
}

// place lays a frame out from the bottom: caption, bar, charts; the map takes
// the rest.
func (p *Plate) place() (bar vg.Rectangle, caption []string) {
	width, height := filmGround{plate: p}.Size()
	side := height
	caption = paper.Wrap(p.caption(), width-2*filmMargin, false)
	y := filmMargin + vg.Length(len(caption))*paper.LineHeight + 3 + paper.LineHeight
	barLength := min(width-2*filmMargin-30, 60*paper.MM)
	bar = vg.Rectangle{Min: vg.Point{X: filmMargin + 8, Y: y},
		Max: vg.Point{X: filmMargin + 8 + barLength, Y: y + paper.BarHeight - 1}}
	y = bar.Max.Y + paper.LineHeight + 6 + chart.BelowRoom
	most := 0.
	for _, power := range p.film.Power {
		for _, v := range power {
			most = max(most, v)
		}
	}
	if most == 0 {
		most = 1
	}
	amplitude := chart.RoundedAxis("field power, µV", 0, most, 3)
	times := p.film.PowerTimes
	time := chart.NewAxis("ms", 1000*times[0], 1000*times[len(times)-1], 6)
	view := scalp.TopView(p.film.Head)
	for i, s := range p.shows {
		left := vg.Length(i) * side
		s.chart = chart.Chart{Rect: vg.Rectangle{
			Min: vg.Point{X: left + filmMargin + chart.LeftRoom(amplitude), Y: y},
			Max: vg.Point{X: left + side - 3*filmMargin, Y: y + filmChart},
		}, X: time, Y: amplitude}
		bottom := y + filmChart + chart.AboveRoom + paper.LineHeight
		top := height - filmMargin - paper.LineHeight - 4
		unit := min((top-bottom)/2/vg.Length(view.Front*(1+scalp.NoseHeight/2)),
			(side/2-filmMargin)/vg.Length(view.Right))
		f := scalp.Frame{Right: unit * vg.Length(view.Right), Front: unit * vg.Length(view.Front), View: view}
		f.Center = vg.Point{X: left + side/2, Y: bottom + f.Front}
		s.frame = f
	}
	return bar, caption
}

func (g filmGround) Draw(c canvas.Canvas) {
	p := g.plate
	_, height := g.Size()
	bar, caption := p.place()
	for i, s := range p.shows {
		row, f := &p.film.Rows[i], s.frame
		radius := g.markRadius(row, f)
		if g.rims {
			for _, m := range row.Marks {
				var rim vg.Path
				paper.Circle(&rim, f.Project(m.Site.Position), radius+.6)
				paper.Fill(c, rim, color.Black)
			}
			continue
		}
		if !g.lines {
			x := f.Center.X - height/2 + filmMargin
			paper.Line{Text: row.Title, Bold: true,
				At: vg.Point{X: x, Y: height - filmMargin - paper.TextSize + paper.Descent}}.Draw(c)
			s.chart.DrawAxes(c)
			c.SetColor(paper.Ink)
			for _, t := range s.chart.Texts() {
				t.Draw(c)
			}
			var millis []float64
			for _, at := range p.film.PowerTimes {
				millis = append(millis, 1000*at)
			}
			s.chart.Curve(c, millis, p.film.Power[i], chart.Stroke{Colour: paper.Ink})
		}
		paper.Stroke(c, s.reach.Hatch(f), paper.Faded(.6), .6)
		paper.Stroke(c, s.reach.Edge(f, false), paper.Faded(.6), .6)
		paper.Stroke(c, f.Graticule(), paper.Faded(.4), .6)
		paper.Stroke(c, f.LandmarkTicks(paper.TickLength), paper.Ink, .6)
		paper.Stroke(c, f.Outline(), paper.Ink, 1.1)
		drawFilmMarks(c, f, row.Marks, radius)
	}
	if g.lines || g.rims {
		return
	}
	c.SetColor(paper.Ink)
	for i, text := range caption {
		paper.Line{Text: text, At: vg.Point{X: filmMargin,
			Y: filmMargin + paper.LineHeight*vg.Length(len(caption)-1-i) + paper.Descent}}.Draw(c)
	}
	p.drawFilmBar(c, bar)
}

// drawFilmBar draws the scale but its colours, which have indexes of their own.
func (p *Plate) drawFilmBar(c vg.Canvas, bar vg.Rectangle) {
	var edge vg.Path
	paper.Rectangle(&edge, bar)
	paper.Stroke(c, edge, paper.Ink, .5)
	c.SetColor(paper.Ink)
	paper.Line{Text: p.film.sheet().QuantityText(), At: vg.Point{X: bar.Min.X - 8, Y: bar.Max.Y + 3}}.Draw(c)
	ticks := p.Scale.Ticks()
	steps := len(ticks) / 2
	if p.Scale.OneSided {
		steps = len(ticks) - 1
	}
	every := paper.LabelEvery(ticks, steps, bar.Max.X-bar.Min.X)
	zero := len(ticks) / 2
	if p.Scale.OneSided {
		zero = 0
	}
	for k := zero % every; k < len(ticks); k += every {
		text := paper.TickText(ticks[k])
		x := p.Scale.TickX(bar, ticks[k])
		paper.Stroke(c, paper.Straight(vg.Point{X: x, Y: bar.Min.Y}, vg.Point{X: x, Y: bar.Min.Y - 2}),
			paper.Ink,
			.5)
		c.SetColor(paper.Ink)
		paper.Line{Text: text, At: vg.Point{X: x - paper.Width(text)/2,
			Y: bar.Min.Y - 2 - paper.TextSize}}.Draw(c)
	}
}

func (g filmGround) markRadius(row *scalp.Row, f scalp.Frame) vg.Length {
	return max(.9, f.MarkRadius(row.Marks))
}

// drawFilmMarks draws marks without rims.
func drawFilmMarks(c vg.Canvas, f scalp.Frame, marks []scalp.Mark, radius vg.Length) {
	var measured, others vg.Path
	for _, m := range marks {
		at := f.Project(m.Site.Position)
		switch m.Kind {
		case scalp.Measured:
			paper.Circle(&measured, at, radius)
		case scalp.Repaired:
			paper.Circle(&others, at, 1.5*radius)
		case scalp.LeftOut:
			paper.Cross(&others, at, 1.8*radius)
		}
	}
	paper.Fill(c, measured, paper.Ink)
	paper.Stroke(c, others, paper.Ink, .7)
}

// drawGround draws what stands still, and turns it into indexes.
func (p *Plate) drawGround() error {
	full, err := canvas.Raster(filmGround{plate: p}, filmDots)
	if err != nil {
		return err
	}
	lines, err := canvas.Raster(filmGround{plate: p, lines: true}, filmDots)
	if err != nil {
		return err
	}
	rims, err := canvas.Raster(filmGround{plate: p, rims: true}, filmDots)
	if err != nil {
		return err
	}
	p.ground = make([]uint8, p.Width*p.Height)
	for i := range p.ground {
		p.ground[i] = firstGrey + darkness(full, i)
	}
	bar, _ := p.place()
	_, height := filmGround{plate: p}.Size()
	for y := int(inDots(height - bar.Max.Y)); y < int(inDots(height-bar.Min.Y)); y++ {
		for x := int(inDots(bar.Min.X)) + 1; x < int(inDots(bar.Max.X)); x++ {
			share := (float64(x) + .5 - inDots(bar.Min.X)) / inDots(bar.Max.X-bar.Min.X)
			i := y*p.Width + x
			level := uint8(min(share*(fieldLevels-1)+.5, fieldLevels-1))
			p.ground[i] = level + fieldLevels*darkness(full, i)
		}
	}
	for _, s := range p.shows {
		s.frame.Center = vg.Point{X: vg.Length(inDots(s.frame.Center.X)),
			Y: vg.Length(inDots(height - s.frame.Center.Y))}
		s.frame.Right, s.frame.Front = vg.Length(inDots(s.frame.Right)), vg.Length(inDots(s.frame.Front))
		s.spans(p, lines, rims)
	}
	p.stamp, err = newStampSet()
	return err
}

// darkness of a pixel in the palette's steps: what share of ink lies on white.
func darkness(img *image.RGBA, pixel int) uint8 {
	const black = 3 * 255
	light := int(img.Pix[4*pixel]) + int(img.Pix[4*pixel+1]) + int(img.Pix[4*pixel+2])
	share := float64(black-light) / float64(black-inkLight)
	return uint8(math.Round(min(share, 1) * (inkSteps - 1)))
}
