package guide

import (
	"math"
	"strconv"

	"gonum.org/v1/gonum/spatial/r2"

	"calotte/layout"
)

// asYouStand is sheet 3: the head as the technician sees it, and the list of
// electrodes in the order of work.
func (b *book) asYouStand(p *plan) error {
	b.standing(p)
	b.workList(p)
	return nil
}

// An auxiliary is an electrode beside the scalp sites: a letter on the drawing
// and a line in the list. Ground and reference are where the lab has them: on
// the drawing when that is a known site.
type auxiliary struct {
	letter, name, given string
	right, front        float64 // direction from the vertex on the view; none where the lab chooses the place
}

func (b *book) auxiliaries() []auxiliary {
	a := b.Sheet3.Auxiliary
	return []auxiliary{
		{letter: "G", name: a.Ground, given: b.o.Ground},
		{letter: "R", name: a.Reference, given: b.o.Reference},
		{letter: "M1", name: a.MastoidLeft, right: -.88, front: -.475},
		{letter: "M2", name: a.MastoidRight, right: .88, front: -.475},
		{letter: "H1", name: a.HorizontalLeft, right: -.56, front: .83},
		{letter: "H2", name: a.HorizontalRight, right: .56, front: .83},
		{letter: "V1", name: a.VerticalAbove, right: -.37, front: .93},
		{letter: "V2", name: a.VerticalBelow, right: -.37, front: .93},
	}
}

// drawn tells whether the electrode has a place on the drawing.
func (a auxiliary) drawn() bool { return a.right != 0 }

// beside finds the place of an auxiliary outside the head's edge, as near to it
// as the places taken allow.
func (v headView) beside(a auxiliary, taken []r2.Vec, radius float64) r2.Vec {
	for r := 1.08; ; r += .02 {
		at := v.polar(r, a.right, a.front)
		free := true
		for _, t := range taken {
			free = free && r2.Norm(r2.Sub(at, t)) > radius+auxHalf+2
		}
		if free || r > 1.5 {
			return at
		}
	}
}

func (b *book) standing(of *plan) {
	p, y := b.start(sheetHead, b.Sheet3.Title, 1)
	text, near, far := b.Sheet3.Behind, b.Common.Left, b.Common.Right
	if b.o.Stand == Front {
		text, near, far = b.Sheet3.Front, b.Common.Right, b.Common.Left
	}
	y = p.prose(p.left(), y, p.span(), stepBold, text)
	text = b.Sheet3.Order
	switch b.o.Posture {
	case Lying:
		text += " " + b.Sheet3.Lying
	case Headrest:
		text += " " + b.Sheet3.Headrest
	}
	y = p.prose(p.left(), y, p.span(), stepText, text)
	// The two sides are written large at the upper corners, where the head
	// leaves room.
	big := style{size: 20, bold: true}
	y += 3
	p.prose(p.left(), y, 34, big, near)
	for i, line := range wrap(far, 34, big) {
		p.put(p.right(), y+big.cap()+(big.line()-big.cap())/2+float64(i)*big.line(), big.rightward(), line)
	}
	half := min((p.room()-y-6)/2/1.18, p.span()/2/1.08)
	center := r2.Vec{X: p.left() + p.span()/2, Y: (y + p.room()) / 2}
	v := newHeadView(of, center, half, b.o.Stand)
	p.open("head", b.Sheet3.Title)
	v.graticule(p)
	v.outline(p)
	radius := v.discRadius(of)
	var taken, discs []r2.Vec
	for _, m := range of.order {
		at := v.mark(m)
		p.numbered(at, radius, m, m.rests && b.o.Posture == Headrest)
		taken, discs = append(taken, at), append(discs, r2.Vec{X: at.X, Y: at.Y - discRise})
	}
	for _, a := range b.auxiliaries() {
		if a.drawn() {
			at := v.beside(a, taken, max(radius, auxHalf))
			p.square(at, a.letter)
			taken, discs = append(taken, at), append(discs, at)
		}
	}
	for _, a := range b.auxiliaries() {
		if site, known := of.knownSite(a.given); known {
			if at, ok := p.placed(v.point(site), a.letter, discs, radius); ok {
				discs = append(discs, at)
			}
		}
	}
	p.close()
}

const (
	siteDisc  = 3.9 // mm, radius in the list
	mostDisc  = 5.4 // on the drawing
	leastDisc = 2.6 // holds two figures of the smallest type
	discRise  = 1.6 // above the site, so that disc and name together lie on it
	auxHalf   = 3.6
)

// discRadius keeps the discs of neighbours apart.
func (v headView) discRadius(of *plan) float64 {
	nearest := math.Inf(1)
	for i, a := range of.order {
		for _, b := range of.order[:i] {
			nearest = min(nearest, r2.Norm(r2.Sub(v.mark(a), v.mark(b))))
		}
	}
	return max(leastDisc, min(mostDisc, nearest/2-.5))
}

// numbered is an electrode on the drawing: its number in a disc, its name under
// it; one that is not reached is crossed by a bar.
func (p *page) numbered(at r2.Vec, radius float64, m *mark, barred bool) {
	number := style{size: max(leastSize, 2.6*radius), bold: true}.centred()
	name := number
	at.Y -= discRise
	p.disc(white, at, radius)
	p.ring(firm, at, radius)
	p.fit(at.X, at.Y+number.cap()/2, 2*radius-1, number, strconv.Itoa(m.number))
	w := name.width(string(m.name))
	p.area(white, corners(at.X-w/2-.4, at.Y+radius+.3, w+.6, name.cap()+1)...)
	p.put(at.X, at.Y+radius+.8+name.cap(), name, string(m.name))
	if barred {
		p.stroke(heavy, r2.Vec{X: at.X - radius - 1.5, Y: at.Y + radius},
			r2.Vec{X: at.X + radius + 1.5, Y: at.Y - radius})
	}
}

func (p *page) square(at r2.Vec, letter string) {
	s := style{size: 10, bold: true}.white().centred()
	p.area(black, corners(at.X-auxHalf, at.Y-auxHalf, 2*auxHalf, 2*auxHalf)...)
	p.fit(at.X, at.Y+s.cap()/2, 2*auxHalf-.6, s, letter)
}

const (
	workColumns = 3
	workHeight  = writeHeight + 1.5
)

// workList has a box for a tick and one for the impedance for every electrode.
func (b *book) workList(of *plan) {
	f := b.flow(sheetHead, b.Sheet3.List)
	f.columns(len(of.order), func(i int, x, width float64) {
		m := of.order[i]
		at := r2.Vec{X: x + siteDisc, Y: f.y + workHeight/2}
		number := style{size: 11, bold: true}.centred()
		f.p.ring(firm, at, siteDisc)
		f.p.fit(at.X, at.Y+number.cap()/2, 2*siteDisc-1.6, number, strconv.Itoa(m.number))
		f.workRow(x+2*siteDisc+1.5, width, m.name, m.rests && f.o.Posture == Headrest)
	})
	f.y += 3
	f.need(workHeight * 4)
	f.y = f.heading(f.p, f.y, b.Sheet3.AuxiliaryHeading)
	list := b.auxiliaries()
	const columns = 2
	for i := 0; i < len(list); i += columns {
		f.need(workHeight)
		for k, a := range list[i:min(i+columns, len(list))] {
			f.auxiliaryRow(f.p.left()+float64(k)*(f.p.span()+4)/columns, (f.p.span()-4)/columns, a)
		}
		f.y += workHeight
	}
}

// columns sets n rows that read downwards in each page's columns, under a
// heading of what the boxes are for.
func (f *flow) columns(n int, row func(i int, x, width float64)) {
	width := f.p.span() / workColumns
	for done := 0; done < n; {
		if done > 0 {
			f.need(f.p.height)
		}
		for k := range workColumns {
			x := f.p.left() + float64(k)*width + width - 3
			f.p.fit(x-writeWidth-2, f.y+3, tickSize, body.rightward(), f.Sheet3.Tick)
			f.p.fit(x, f.y+3, writeWidth, body.rightward(), f.Sheet3.Impedance)
		}
		f.y += 4.5
		rows := min((n-done+workColumns-1)/workColumns, int((f.p.room()-f.y)/workHeight))
		top := f.y
		for i := range min(rows*workColumns, n-done) {
			f.y = top + float64(i%rows)*workHeight
			row(done+i, f.p.left()+float64(i/rows)*width, width-3)
		}
		f.y = top + float64(rows)*workHeight
		done += min(rows*workColumns, n-done)
	}
}

// workRow sets name, tick box and impedance box up to the right end of a
// column.
func (f *flow) workRow(x, width float64, name layout.Name, unreached bool) {
	end := x - 2*siteDisc - 1.5 + width
	base := f.y + workHeight/2 + stepBold.cap()/2
	words := end - writeWidth - 2 - tickSize - 1 - x
	if felt := f.felt(name); felt != "" {
		f.p.fit(x, base-2, words, stepBold, string(name))
		f.p.fit(x, base-2+small.line(), words, small, felt)
	} else {
		f.p.fit(x, base, words, stepBold, string(name))
	}
	if unreached {
		f.p.fit(end-writeWidth-2-tickSize, base, writeWidth+tickSize+2, body, f.Sheet3.NotReached)
		return
	}
	f.p.tick(end-writeWidth-2-tickSize, f.y+workHeight/2-tickSize/2)
	f.p.write(end-writeWidth, f.y+(workHeight-writeHeight)/2)
}

// felt names the landmark under which sheet 1 has a site that is not measured.
func (b *book) felt(n layout.Name) string {
	switch n {
	case "Nz":
		return b.Sheet1.LandmarkNasion
	case "Iz":
		return b.Sheet1.LandmarkInion
	case "T9", "T10":
		return b.Sheet3.EarPoint
	}
	return ""
}

func (f *flow) auxiliaryRow(x, width float64, a auxiliary) {
	f.p.square(r2.Vec{X: x + auxHalf, Y: f.y + workHeight/2}, a.letter)
	at, end := x+2*auxHalf+1.5, x+width
	words := end - writeWidth - 2 - tickSize - 2 - at
	base := f.y + workHeight/2 + stepBold.cap()/2
	switch {
	case a.drawn():
		f.p.fit(at, base, words, style{size: 12, bold: true}, a.name)
	case a.given != "":
		text, s := fill(f.Common.Value, "name", a.name, "value", a.given), style{size: 12, bold: true}
		if s.width(text) > words { // two lines
			s.size = 10
			base = f.y + (workHeight-proseHeight(words, s, text))/2
			f.p.prose(at, base, words, s, text)
			break
		}
		f.p.put(at, base, s, text)
	default:
		w := f.p.fit(at, base, words-12, style{size: 12, bold: true}, a.name)
		f.p.stroke(thin, r2.Vec{X: at + w + 1.5, Y: base + .8}, r2.Vec{X: at + words, Y: base + .8})
	}
	f.p.tick(end-writeWidth-2-tickSize, f.y+workHeight/2-tickSize/2)
	f.p.write(end-writeWidth, f.y+(workHeight-writeHeight)/2)
}
