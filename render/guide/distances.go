package guide

import (
	"slices"
	"strconv"
	"strings"

	"calotte/layout"
)

// distances is sheet 1. Its back, the second page of the guide, holds the
// cautions in full, wherever the first page ends.
func (b *book) distances(p *plan) error {
	f := b.flow(sheetOne, b.Sheet1.Title)
	back := func() { b.cautions(sheetOne) }
	f.turned = back
	f.short()
	f.found()
	f.note(p)
	if err := f.measures(p); err != nil {
		return err
	}
	if err := f.vertex(p); err != nil {
		return err
	}
	f.alongMidline(p)
	f.alongCoronal(p)
	if err := f.alongRing(p); err != nil {
		return err
	}
	f.across(p)
	if f.turned != nil {
		back()
	}
	return nil
}

// short sets the cautions in short, beside a black panel.
func (f *flow) short() {
	const panel, inset = 19.0, 3.0
	text := fill(f.Caution.Short, "page", "2")
	words, head := style{size: 10}, stepBold.white()
	width := f.p.span() - panel - 2*inset
	h := max(proseHeight(width, words, text), proseHeight(panel-4, head, f.Caution.Heading)) + 3
	x := f.p.left()
	f.p.open("cautions", f.Caution.Heading)
	f.p.outline(thin, corners(x, f.y, f.p.span(), h)...)
	f.p.area(black, corners(x, f.y, panel, h)...)
	f.p.prose(x+2, f.y+(h-proseHeight(panel-4, head, f.Caution.Heading))/2, panel-4, head, f.Caution.Heading)
	f.p.prose(x+panel+inset, f.y+1.5, width, words, text)
	f.p.close()
	f.y += h + stepGap
}

// found repeats, in a frame, what was noted of the wearer at this visit.
func (f *flow) found() {
	if len(f.visit.Notes) == 0 {
		return
	}
	var list []string
	for _, n := range f.visit.Notes {
		list = append(list, f.noteText(n))
	}
	const inset = 3.0
	text := fill(f.Sheet1.Found, "page", "2", "notes", strings.Join(list, "; "))
	width := f.p.span() - 2*inset
	h := proseHeight(width, bodyBold, text) + 2
	f.p.open("found", text)
	f.p.outline(heavy, corners(f.p.left(), f.y-1, f.p.span(), h)...)
	f.p.prose(f.p.left()+inset, f.y, width, bodyBold, text)
	f.p.close()
	f.y += h + stepGap - 1
}

func (f *flow) vertex(p *plan) error {
	ni, err := p.length(midline)
	if err != nil {
		return err
	}
	left, right, err := p.halves(coronal)
	if err != nil {
		return err
	}
	text := f.Sheet1.Vertex
	if unequal(left, right) {
		text = f.Sheet1.VertexUnequal
	}
	f.step(text, cellHeight)
	kind := p.byName["Cz"].kind()
	x := f.p.left() + sideLabel
	f.y += cellGap
	width := (f.p.span() - sideLabel) / 3
	for i, c := range []cell{
		{name: "Cz", note: f.Sheet1.VertexMidline, distance: ni / 2, box: kind},
		{name: "Cz", note: f.Sheet1.VertexLeft, distance: left, box: noBox},
		{name: "Cz", note: f.Sheet1.VertexRight, distance: right, box: noBox},
	} {
		f.p.cell(x+float64(i)*width, f.y, width-2, c)
	}
	f.y += cellHeight + stepGap
	return nil
}

// note says what the sheet's signs mean, and what the posture asks.
func (f *flow) note(p *plan) {
	text := f.Sheet1.Helpers
	if p.head.Spherical() {
		text += " " + f.Sheet1.AroundOnly
	}
	switch f.o.Posture {
	case Lying:
		text += " " + f.Sheet1.Lying
	case Headrest:
		text += " " + f.Sheet1.Headrest
	}
	f.y = f.p.prose(f.p.left(), f.y-1, f.p.span(), body, text) + 1.5
}

func (m *mark) kind() boxKind {
	if m.electrode {
		return electrodeBox
	}
	return helperBox
}

// mostTogether is more than any step of 10-10 takes, and less than a page.
const mostTogether = 150 // mm

func (f *flow) alongMidline(p *plan) { f.along(f.Sheet1.Midline, p.on(midline)) }
func (f *flow) alongCoronal(p *plan) { f.along(f.Sheet1.Coronal, p.on(coronal)) }

// along sets the distances of one arc.
func (f *flow) along(text string, marks []*mark) {
	var list []cell
	for _, m := range marks {
		if m.name != "Cz" { // it is marked already
			list = append(list, cell{name: string(m.name), distance: m.Distance, box: m.kind()})
		}
	}
	f.step(text, min(f.rowsHeight(len(list)), mostTogether))
	f.y += cellGap
	f.cells("", list)
	f.y += stepGap - rowGap
}

func (f *flow) alongRing(p *plan) error {
	left, err := ringCells(p, leftRing, "T7")
	if err != nil {
		return err
	}
	right, err := ringCells(p, rightRing, "T8")
	if err != nil {
		return err
	}
	text := f.Sheet1.Ring
	if !p.ringInShares(append(slices.Clone(left), right...)) {
		text = f.Sheet1.RingUnequal
		for _, side := range [][]cell{left, right} {
			for i := range side {
				side[i].note = ""
			}
		}
	}
	f.step(text, min(f.rowsHeight(len(left))+f.rowsHeight(len(right))+cellGap, mostTogether))
	f.y += cellGap
	f.cells(f.Common.Left, left)
	f.cells(f.Common.Right, right)
	f.y += stepGap - rowGap
	return nil
}

// ringCells leaves out Fpz and Oz, which the midline gives, and has T7 or T8
// without a box: the ear arc gave it, the ring must meet it.
func ringCells(p *plan, arc string, side layout.Name) ([]cell, error) {
	quarter, _, err := p.halves(arc)
	if err != nil {
		return nil, err
	}
	meeting := cell{name: string(side), note: percent(25), share: 25, distance: quarter, box: noBox}
	var list []cell
	for _, m := range p.on(arc) {
		if m.name == "Fpz" || m.name == "Oz" {
			continue
		}
		share := ringShare(m.name)
		list = append(list, cell{name: string(m.name), note: percent(share), share: share, distance: m.Distance,
			box: m.kind()})
	}
	at := slices.IndexFunc(list, func(c cell) bool { return c.distance > quarter })
	if at < 0 {
		at = len(list)
	}
	return slices.Insert(list, at, meeting), nil
}

// ringInShares tells whether every site of the ring lies at its share of the
// circumference: only where all four quarters are equal.
func (p *plan) ringInShares(cells []cell) bool {
	whole, err := p.measure("")
	return err == nil && !slices.ContainsFunc(cells,
		func(c cell) bool { return unequal(c.distance, whole*c.share/100) })
}

func percent(share float64) string {
	return strconv.FormatFloat(share, 'f', -1, 64) + "\u00a0%"
}

// ringShare is a ring site's per cent of the circumference by the rule, which
// divides each quarter by itself.
func ringShare(n layout.Name) float64 {
	r, _ := ruleOf(n)
	return 50 * float64(slices.Index(r.Sites, n)) / float64(len(r.Sites)-1)
}
