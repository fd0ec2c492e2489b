package guide

import (
	"math"
	"strconv"

	"gonum.org/v1/gonum/spatial/r2"
)

const (
	barLength  = 100.0 // mm
	barColumn  = 10.0  // left of the strips
	barRow     = 15.0  // under them
	stripGap   = 2.5
	stripWidth = 20.0
	longName   = 9.4 // mm: a strip is wider for names that are longer in the smallest type
)

// strips are sheets of paper tapes at true size.
func (b *book) strips(p *plan) error {
	if b.o.NoStrips {
		return nil
	}
	straight, err := p.straightStrips()
	if err != nil {
		return err
	}
	curved, err := p.curvedStrips()
	if err != nil {
		return err
	}
	b.stripPages(b.Strips.Straight, straight)
	b.stripPages(b.Strips.Curved, curved)
	return nil
}

// stripPages sets the pieces of strips side by side, as close as their curves
// allow.
func (b *book) stripPages(title string, strips []strip) {
	if len(strips) == 0 {
		return
	}
	var on *page
	var top, bottom float64
	var taken func(y float64) float64
	fresh := func() {
		on, top, bottom = b.stripPage(title)
		left := on.left() + barColumn
		taken = func(float64) float64 { return left }
	}
	fresh()
	for _, s := range strips {
		for _, piece := range s.pieces(bottom-top, paperWidth(strips)) {
			if !piece.place(on, top, taken) {
				fresh()
				if !piece.place(on, top, taken) {
					on.fail("the strip %s does not fit between the page's edges: take larger paper",
						s.arc)
					return
				}
			}
			piece.draw(b, on)
			before := taken
			right := piece.extent(1)
			taken = func(y float64) float64 { return math.Max(before(y), right(y)+stripGap) }
		}
	}
}

func paperWidth(strips []strip) float64 {
	width := stripWidth
	for _, s := range strips {
		for _, m := range s.marks {
			width = max(width, stripWidth+bodyBold.of(leastSize).width(string(m.name))-longName)
		}
	}
	return width
}

// place moves a piece to the left until it meets what is taken; false without
// room on the page.
func (p *piece) place(on *page, top float64, taken func(y float64) float64) bool {
	p.origin = r2.Vec{}
	highest, _ := p.reach()
	p.origin.Y = top - highest
	left, shift := p.extent(-1), math.Inf(-1)
	for y := top; y < on.room(); y++ {
		if x := left(y); !math.IsInf(x, 0) {
			shift = max(shift, taken(y)-x)
		}
	}
	p.origin.X = shift
	right := p.extent(1)
	for y := top; y < on.room(); y++ {
		if right(y) > on.right() {
			return false
		}
	}
	return true
}

// extent gives the piece's reach to the page's right (1) or left (-1) within
// 2 mm of a height; without paper there, an infinity.
func (p *piece) extent(side float64) func(y float64) float64 {
	reach := map[int]float64{}
	for _, w := range []float64{0, p.width} {
		for _, v := range p.edge(w) {
			for k := -2; k <= 2; k++ {
				y := int(math.Round(v.Y)) + k
				if old, ok := reach[y]; !ok || side*v.X > side*old {
					reach[y] = v.X
				}
			}
		}
	}
	return func(y float64) float64 {
		if x, ok := reach[int(math.Round(y))]; ok {
			return x
		}
		return math.Inf(-int(side))
	}
}

// stripPage begins a sheet and draws its two bars.
func (b *book) stripPage(title string) (on *page, top, bottom float64) {
	on, y := b.start(sheetStrips, title, b.o.correction())
	y = on.prose(on.left(), y-1, on.span(), body, b.Strips.Use)
	bottom = on.room() - barRow
	b.bar(on, "bar-across", r2.Vec{X: on.left() + barColumn, Y: on.room() - 5}, r2.Vec{X: 1})
	b.bar(on, "bar-down", r2.Vec{X: on.left() + 4, Y: y + 4}, r2.Vec{Y: 1})
	x := on.left() + barColumn + barLength + 5
	text := b.Strips.Rule
	if b.o.Bar != 0 {
		text += " " + fill(b.Strips.Corrected, "factor", strconv.FormatFloat(b.o.correction(), 'f', 4, 64),
			"bar", strconv.FormatFloat(float64(b.o.Bar), 'f', -1, 64))
	}
	s := bodyBold
	for s.size > leastSize && proseHeight(on.right()-x, s, text) > barRow-1 {
		s.size -= .5
	}
	on.prose(x, bottom+1, on.right()-x, s, text)
	return on, y + 3, bottom
}

// bar is 100 mm from the outer edge of one end stroke to that of the other.
func (b *book) bar(on *page, id string, from, along r2.Vec) {
	across := r2.Vec{X: -along.Y, Y: along.X}
	const end = 2.5
	half := float64(firm) * 25.4 / 72 / 2
	on.open(id, b.Strips.Bar)
	defer on.close()
	to := r2.Add(from, r2.Scale(barLength, along))
	on.stroke(firm, from, to)
	for _, v := range []r2.Vec{r2.Add(from, r2.Scale(half, along)), r2.Sub(to, r2.Scale(half, along))} {
		on.stroke(firm, r2.Sub(v, r2.Scale(end, across)), r2.Add(v, r2.Scale(end, across)))
	}
	s := bodyBold.centred()
	middle := r2.Add(from, r2.Scale(barLength/2, along))
	if along.X == 0 {
		s.turn = math.Pi / 2
		on.put(middle.X+2+s.cap(), middle.Y, s, b.Strips.Bar)
		return
	}
	on.put(middle.X, middle.Y-2, s, b.Strips.Bar)
}
