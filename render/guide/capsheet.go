package guide

import (
	"math"
	"strconv"

	"gonum.org/v1/gonum/spatial/r2"

	"calotte/layout"
)

// misplaced is how far a mark or a cap may be off, in mm, before it is set
// again (common practice, no source).
const misplaced = 5

var misplacedText = strconv.Itoa(misplaced)

// A capCheck is a distance that shows how a cap sits.
type capCheck struct {
	rule  Rule
	parts []capPart
}

// A capPart is one number of a check; a label tells two of them apart.
type capPart struct {
	label    string
	distance float64
}

// capChecks is sheet 1b: the distances that fix a cap's three rotations and
// show a wrong size. The two on the midline and the two up from the ears are
// the tenths of their arcs, which see slides; the four from the ears to front
// and back see a turn about the vertical, of which the others see nothing; Cz
// tells whether the halves are equal.
func (b *book) capChecks(p *plan) error {
	ni, err := p.length(midline)
	if err != nil {
		return err
	}
	left, right, err := p.halves(coronal)
	if err != nil {
		return err
	}
	vertex := []capPart{{b.Sheet1b.VertexFront, ni / 2}}
	if unequal(left, right) {
		vertex = append(vertex, capPart{b.Sheet1b.VertexLeft, left}, capPart{b.Sheet1b.VertexRight, right})
	} else {
		vertex = append(vertex, capPart{b.Sheet1b.VertexSide, left})
	}
	c := b.Sheet1b.Checks
	twistFront, err := b.earsTo(p, "Fpz")
	if err != nil {
		return err
	}
	twistBack, err := b.earsTo(p, "Oz")
	if err != nil {
		return err
	}
	list := []capCheck{
		{c.Front, []capPart{{"", p.byName["Fpz"].Distance}}},
		{c.Back, []capPart{{"", ni - p.byName["Oz"].Distance}}},
		{c.Sides, []capPart{{b.Sheet1b.VertexLeft, p.byName["T7"].Distance},
			{b.Sheet1b.VertexRight, left + right - p.byName["T8"].Distance}}},
		{c.TwistFront, twistFront},
		{c.TwistBack, twistBack},
		{c.Vertex, vertex},
	}
	page, y := b.start(sheetCap, b.Sheet1b.Title, 1)
	y = b.capIntro(page, y, p) + 4
	more := float64(len(vertex)-2) * capLine // a third number has its own line
	row := (page.room() - y - proseHeight(page.span(), stepText, b.Sheet1b.Strap) - 2 - more) / capMarks
	for i, check := range list {
		height := row
		if i == len(list)-1 {
			height += more
		}
		b.capRow(page, y, height, i+1, check)
		y += height
	}
	page.prose(page.left(), y+1, page.span(), stepText, b.Sheet1b.Strap)
	return nil
}

// earsTo are the shortest ways from both ear points to an electrode of the
// midline.
func (b *book) earsTo(p *plan, site layout.Name) ([]capPart, error) {
	var parts []capPart
	for _, ear := range []struct {
		point layout.Name
		label string
	}{{"LPA", b.Sheet1b.VertexLeft}, {"RPA", b.Sheet1b.VertexRight}} {
		way, err := p.surface.Distance(p.byName[ear.point].Position, p.byName[site].Position)
		if err != nil {
			return nil, err
		}
		parts = append(parts, capPart{ear.label, way})
	}
	return parts, nil
}

// capIntro has the small head beside it, with the distances numbered.
func (b *book) capIntro(p *page, y float64, of *plan) float64 {
	const drawing = 48.0 // mm, its height
	view := newHeadView(of, r2.Vec{X: p.right() - 31, Y: y + drawing/2}, drawing/2-7, Behind)
	p.open("drawing", b.Sheet1b.Drawing)
	view.outline(p)
	for _, way := range []struct{ number, from, to string }{
		{"1", "Nz", "Fpz"}, {"2", "Iz", "Oz"}, {"3", "LPA", "T7"}, {"3", "RPA", "T8"},
	} {
		from, to := view.landmark(way.from), view.mark(of.byName[siteName(way.to)])
		p.stroke(heavy, from, to)
		out := r2.Sub(from, view.center)
		at := r2.Add(from, r2.Scale(5.5/r2.Norm(out), out))
		if way.from == "Nz" { // beside the nose
			at = r2.Add(from, r2.Vec{X: -9, Y: -1})
		}
		p.put(at.X, at.Y+stepBold.cap()/2, stepBold.centred(), way.number)
	}
	for _, way := range []struct{ number, to string }{{"4", "Fpz"}, {"5", "Oz"}} {
		for _, ear := range []string{"LPA", "RPA"} {
			from, to := view.landmark(ear), view.mark(of.byName[siteName(way.to)])
			p.stroke(firm, from, to)
			middle := r2.Scale(.5, r2.Add(from, to))
			in := r2.Sub(view.center, middle)
			at := r2.Add(middle, r2.Scale(3.4/r2.Norm(in), in))
			p.put(at.X, at.Y+bodyBold.cap()/2, bodyBold.centred(), way.number)
		}
	}
	cz := view.mark(of.byName["Cz"])
	p.dashed(thin, view.landmark("Nz"), view.landmark("Iz"))
	p.dashed(thin, view.landmark("LPA"), view.landmark("RPA"))
	p.disc(white, cz, 3.6)
	p.ring(firm, cz, 3.6)
	p.put(cz.X, cz.Y+stepBold.cap()/2, stepBold.centred(), "6")
	p.close()
	width := p.span() - 66
	bottom := p.prose(p.left(), y, width, stepText, fill(b.Sheet1b.Intro, "allowed", misplacedText))
	size, note := b.capSize(of)
	bottom += 4
	w := p.fit(p.left(), bottom+7.5, width/2, stepText, b.Sheet1.Cap)
	w += p.fit(p.left()+w+3, bottom+7.5, width/3, distance, size) + 3
	p.prose(p.left(), bottom+10.5, width, small, note)
	return y + drawing + 2
}

const (
	capMarks = 6
	capLine  = 17.5 // mm from the numbers of a check to those under them
)

// unequal tells halves that a tape tells apart.
func unequal(left, right float64) bool { return math.Abs(left-right) >= .5 }

func (b *book) capRow(p *page, y, height float64, number int, c capCheck) {
	x := p.left()
	p.stroke(hair, r2.Vec{X: x, Y: y}, r2.Vec{X: p.right(), Y: y})
	next := y + height
	y += (height - 19 - float64(max(0, len(c.parts)-2))*capLine) / 2
	center := r2.Vec{X: x + stepDisc, Y: y + stepDisc}
	p.disc(black, center, stepDisc)
	s := stepBold.white().centred()
	p.put(center.X, center.Y+s.cap()/2, s, strconv.Itoa(number))
	const words = 76.0
	bottom := p.prose(x+stepIndent, y+.8, words-stepIndent, stepBold, c.rule.Name)
	bottom = p.prose(x+stepIndent, bottom+.5, words-stepIndent, style{size: 12}, c.rule.Fix)
	if bottom > next {
		p.fail("the text %q is %.0f mm too long for its row of the sheet %q: shorten it", c.rule.Fix,
			math.Ceil(bottom-next), p.title)
	}
	for i, part := range c.parts {
		at := r2.Vec{X: x + words + 4, Y: y}
		if i > 0 { // the front's number stands alone at the left
			at.X += 51
			at.Y += float64(i-1) * capLine
		}
		p.put(at.X, at.Y+10.2, distance, layout.Centimetres(part.distance))
		p.write(at.X+22, at.Y)
		p.fit(at.X, at.Y+16.5, 20, small, part.label)
		p.fit(at.X+22, at.Y+16.5, writeWidth, small, b.Sheet1b.Measured)
	}
	p.tick(p.right()-tickSize, y+2)
}
