package guide

import (
	"gonum.org/v1/gonum/spatial/r2"

	"calotte/layout"
)

// landmarks is the first sheet for any head: where the landmarks are, and boxes
// for what the tape reads.
func (b *book) landmarks() {
	f := b.flow(sheetBlank, b.Blank.Title)
	f.short()
	top := f.y
	const drawing = 66.0 // mm wide
	words := f.p.span() - drawing - 4
	for i, l := range []Landmark{b.Blank.Nasion, b.Blank.Inion, b.Blank.Ear, b.Blank.Around, b.Blank.Vertex} {
		f.lettered(i, l, words)
	}
	x := f.p.right() - drawing - 3
	f.p.open("drawings", "")
	sideHead(f.p, x+drawing/2, top, .46)
	f.p.fit(x+drawing/2, top+67, drawing, body.centred(), b.Blank.SideView)
	backHead(f.p, x+drawing/2, top+72, .42)
	f.p.fit(x+drawing/2, top+133, drawing, body.centred(), b.Blank.BackView)
	f.p.close()
	f.y = max(f.y, top+135)
	b.measureBoxes(f.p, f.y)
}

// letter names the i-th landmark on the drawings: A, B, C…
func letter(i int) string { return string(rune('A' + i)) }

// lettered sets a landmark and how to find it.
func (f *flow) lettered(i int, l Landmark, width float64) {
	f.p.tag(r2.Vec{X: f.p.left() + stepDisc, Y: f.y + stepDisc}, letter(i))
	y := f.p.prose(f.p.left()+stepIndent, f.y+.6, width-stepIndent, style{size: 16, bold: true}, l.Name)
	f.y = f.p.prose(f.p.left()+stepIndent, y+.6, width-stepIndent, stepText, l.How) + 4
}

// tag is a white letter in a black disc.
func (p *page) tag(at r2.Vec, letter string) {
	s := stepBold.white().centred()
	p.disc(black, at, stepDisc-.4)
	p.put(at.X, at.Y+s.cap()/2, s, letter)
}

// measureBoxes are what the tape reads, twice each, and the parts that are
// marked from it, in the order of the measures' questions.
func (b *book) measureBoxes(p *page, y float64) {
	p.open("measures", b.Blank.MeasureHeading)
	defer p.close()
	y = b.heading(p, y, b.Blank.MeasureHeading)
	const names, row = 40.0, writeHeight + 1.5
	columns := []string{b.Blank.First, b.Blank.Second, b.Blank.Half, b.Blank.Tenth}
	step := (p.span() - names) / float64(len(columns)+1)
	column := func(k int) float64 { return p.left() + names + float64(k)*step }
	for k, c := range columns {
		p.fit(column(k)+writeWidth/2, y+body.cap(), step-2, body.centred(), c)
	}
	y += 4.5
	for _, tape := range []struct {
		name  string
		boxes int // the ring's parts stand on the ladder
	}{
		{b.Blank.NasionInion, 4}, {b.Blank.EarEar, 4}, {b.Blank.Circumference, 2},
	} {
		p.fit(p.left(), y+writeHeight/2+stepBold.cap()/2, names-2, stepBold, tape.name)
		for k := range tape.boxes {
			p.write(column(k), y)
		}
		y += row
	}
	// The ring's row has room for the widest, which is read once.
	widest := column(4)
	p.fit(widest-2, y-row+writeHeight/2+stepBold.cap()/2, widest-2-column(2), stepBold.rightward(), b.Blank.Widest)
	p.write(widest, y-row)
	b.halfBoxes(p, y, column)
}

// halfBoxes are for the sides of a head that looks unequal, measured apart.
func (b *book) halfBoxes(p *page, y float64, column func(int) float64) {
	y += 4.6
	p.prose(p.left(), y+writeHeight/2-bodyBold.line(), column(0)-p.left()-2, bodyBold, b.Blank.Apart)
	for k, name := range []string{b.Blank.LeftEar, b.Blank.RightEar, b.Blank.LeftRing, b.Blank.RightRing} {
		p.fit(column(k)+writeWidth/2, y-1.5, column(1)-column(0)-1, small.centred(), name)
		p.write(column(k), y)
	}
}

// smooth draws a curve through points, closed or open, by cubic pieces whose
// slope at each point is that between its neighbours.
func (p *page) smooth(points []r2.Vec) []r2.Vec {
	at := func(i int) r2.Vec { return points[min(max(i, 0), len(points)-1)] }
	var line []r2.Vec
	for i := range len(points) - 1 {
		a, b, c, d := at(i-1), at(i), at(i+1), at(i+2)
		const pieces = 8
		for k := range pieces {
			t := float64(k) / pieces
			m0, m1 := r2.Scale(.5, r2.Sub(c, a)), r2.Scale(.5, r2.Sub(d, b))
			v := r2.Add(r2.Scale(2*t*t*t-3*t*t+1, b), r2.Scale(t*t*t-2*t*t+t, m0))
			line = append(line, r2.Add(v, r2.Add(r2.Scale(3*t*t-2*t*t*t, c), r2.Scale(t*t*t-t*t, m1))))
		}
	}
	return append(line, points[len(points)-1])
}

// profile is the head from its left side, face to the left, from the throat
// over the vertex to the nape.
var profile = []r2.Vec{
	{X: -14, Y: 136}, {X: -15, Y: 122}, {X: -20, Y: 117}, {X: -34, Y: 117}, {X: -42, Y: 112}, {X: -43, Y: 104},
	{X: -46, Y: 99},
	{X: -44, Y: 95}, {X: -47, Y: 91}, {X: -46, Y: 86}, {X: -56, Y: 82}, {X: -51, Y: 72}, {X: -45.5, Y: 61},
	{X: -48, Y: 53}, {X: -47, Y: 38}, {X: -38, Y: 18}, {X: -18, Y: 4}, {X: 5, Y: 0}, {X: 29, Y: 6}, {X: 45, Y: 22},
	{X: 51, Y: 44},
	{X: 49, Y: 60}, {X: 47.5, Y: 69}, {X: 42, Y: 76}, {X: 38, Y: 86}, {X: 37, Y: 104}, {X: 40, Y: 136},
}

// A sketch places the drawings' units on the page.
type sketch struct {
	*page
	x, y, scale float64
}

func (s sketch) at(v r2.Vec) r2.Vec { return r2.Vec{X: s.x + s.scale*v.X, Y: s.y + s.scale*v.Y} }

func (s sketch) curve(points ...r2.Vec) []r2.Vec {
	moved := make([]r2.Vec, len(points))
	for i, v := range points {
		moved[i] = s.at(v)
	}
	return s.smooth(moved)
}

// sideHead shows nasion, inion, ear point, vertex and the ring.
func sideHead(p *page, x, y, scale float64) {
	s := sketch{p, x, y, scale}
	p.stroke(firm, s.curve(profile...)...)
	p.stroke(thin, s.curve(r2.Vec{X: -40, Y: 63}, r2.Vec{X: -35, Y: 61.5}, r2.Vec{X: -31, Y: 64.5})...) // eye
	p.stroke(thin, s.curve(r2.Vec{X: 6, Y: 62}, r2.Vec{X: 15, Y: 60}, r2.Vec{X: 18, Y: 70}, r2.Vec{X: 12, Y: 82},
		r2.Vec{X: 8, Y: 88}, r2.Vec{X: 4, Y: 85})...)
	p.stroke(thin, s.curve(r2.Vec{X: 5, Y: 90}, r2.Vec{X: 0, Y: 103}, r2.Vec{X: -20, Y: 116})...) // jaw
	ear := r2.Vec{X: 0, Y: 72}
	p.dashed(thin, s.curve(ear, r2.Vec{X: 1, Y: 40}, r2.Vec{X: 5, Y: 0})...)
	p.dashed(thin, s.curve(r2.Vec{X: -47.5, Y: 41}, r2.Vec{X: 0, Y: 50}, r2.Vec{X: 51, Y: 47})...)
	for i, v := range []r2.Vec{{X: -45.5, Y: 61}, {X: 47.5, Y: 69}, ear, {X: -25, Y: 47}, {X: 5, Y: 0}} {
		if i != 3 {
			p.disc(black, s.at(v), 1.1)
		}
		offset := []r2.Vec{{X: -13, Y: -1}, {X: 13, Y: 3}, {X: -9, Y: 9}, {X: 0, Y: 0}, {X: 0, Y: 13}}[i]
		p.disc(white, s.at(r2.Add(v, offset)), stepDisc)
		p.tag(s.at(r2.Add(v, offset)), letter(i))
	}
}

// backHead shows the finger's way up the neck to the inion.
func backHead(p *page, x, y, scale float64) {
	s := sketch{p, x, y, scale}
	half := []r2.Vec{
		{X: 22, Y: 136}, {X: 22, Y: 112}, {X: 27, Y: 98}, {X: 36, Y: 84}, {X: 40, Y: 66}, {X: 41, Y: 44},
		{X: 34, Y: 18}, {X: 18, Y: 3}, {X: 0, Y: -1},
	}
	whole := half
	for i := len(half) - 2; i >= 0; i-- {
		whole = append(whole, r2.Vec{X: -half[i].X, Y: half[i].Y})
	}
	p.stroke(firm, s.curve(whole...)...)
	for _, side := range []float64{-1, 1} {
		p.stroke(thin, s.curve(r2.Vec{X: side * 40, Y: 62}, r2.Vec{X: side * 47, Y: 60},
			r2.Vec{X: side * 47, Y: 74},
			r2.Vec{X: side * 41, Y: 86}, r2.Vec{X: side * 37, Y: 84})...)
	}
	p.dashed(thin, s.at(r2.Vec{Y: -1}), s.at(r2.Vec{Y: 62}))
	p.dashed(thin, s.curve(r2.Vec{X: -41, Y: 47}, r2.Vec{Y: 52}, r2.Vec{X: 41, Y: 47})...)
	p.arrow(heavy, s.at(r2.Vec{Y: 122}), s.at(r2.Vec{Y: 76}), 4)
	p.disc(black, s.at(r2.Vec{Y: 69}), 1.3)
	p.tag(s.at(r2.Vec{X: 12, Y: 69}), letter(1))
}

func shareOf(mm, percent float64) string { return layout.Centimetres(mm * percent / 100) }
