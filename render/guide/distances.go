package guide

import (
	"math"
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
	text := fill(f.Sheet1.Found, "notes", strings.Join(list, "; "))
	width := f.p.span() - 2*inset
	h := proseHeight(width, bodyBold, text) + 2
	f.p.open("found", text)
	f.p.outline(heavy, corners(f.p.left(), f.y-1, f.p.span(), h)...)
	f.p.prose(f.p.left()+inset, f.y, width, bodyBold, text)
	f.p.close()
	f.y += h + stepGap - 1
}

// measures repeats what the tape read, with the size of a cap, and asks for the
// landmarks.
func (f *flow) measures(p *plan) error {
	f.step(f.Sheet1.Landmarks, tickSize+cellHeight)
	names := []string{f.Sheet1.LandmarkNasion, f.Sheet1.LandmarkInion, f.Sheet1.LandmarkLeft, f.Sheet1.LandmarkRight}
	width := min(mostCell, (f.p.span()-sideLabel)/float64(len(names)))
	size := stepBold.size // one for all four
	for _, n := range names {
		for size > leastSize && stepBold.of(size).width(n) > width-tickSize-5 {
			size -= .5
		}
	}
	for i, n := range names {
		f.p.cell(f.p.left()+sideLabel+float64(i)*width, f.y, width-2, cell{name: n, distance: math.NaN(), size: size})
	}
	f.y += tickSize + 2.5
	return f.tapeRead(p, width)
}

func (f *flow) tapeRead(p *plan, width float64) error {
	h, r := p.head.Halves, f.visit.Readings
	measures := []struct {
		name, arc         string
		read, left, right float64
		readings          string
	}{
		{f.Sheet1.Circumference, "", p.head.Circumference, h.LeftRing, h.RightRing, f.readings(r.Circumference, r.LeftRing, r.RightRing)},
		{f.Sheet1.NasionInion, midline, p.head.NasionInion, 0, 0, f.readings(r.NasionInion, nil, nil)},
		{f.Sheet1.EarEar, coronal, p.head.EarEar, h.LeftEar, h.RightEar, f.readings(r.EarEar, r.LeftEar, r.RightEar)},
	}
	x, bottom := f.p.left()+sideLabel, f.y+cellHeight
	for i, m := range measures {
		name, value := m.name, m.read
		if value == 0 {
			var err error
			if value, err = p.measure(m.arc); err != nil {
				return err
			}
			name = fill(f.Sheet1.FromAround, "name", name)
		}
		note := ""
		if m.left > 0 {
			note = fill(f.Sheet1.Halves, "left", layout.Centimetres(m.left), "right", layout.Centimetres(m.right))
		}
		f.p.cell(x+float64(i)*width, f.y, width-2, cell{name: name, note: note, distance: value, box: noBox})
		bottom = max(bottom, f.p.prose(x+float64(i)*width, f.y+cellHeight+1, width-2, small, m.readings))
	}
	f.capCell(p, x+3*width, width-1)
	f.y = bottom + stepGap
	return nil
}

// readings are what the tape read, where a mean of several is used.
func (f *flow) readings(whole, left, right []float64) string {
	if max(len(whole), len(left), len(right)) < 2 {
		return ""
	}
	var parts []string
	for _, r := range []struct {
		side string
		list []float64
	}{{"", whole}, {f.Common.Left, left}, {f.Common.Right, right}} {
		var list []string
		for _, v := range r.list {
			list = append(list, layout.Centimetres(v))
		}
		if text := strings.Join(list, ", "); text != "" {
			parts = append(parts, strings.TrimSpace(r.side+" "+text))
		}
	}
	return fill(f.Sheet1.Readings, "list", strings.Join(parts, "; "))
}

// measure is the length of an arc, or without arc of the ring.
func (p *plan) measure(arc string) (float64, error) {
	if arc != "" {
		return p.length(arc)
	}
	left, err := p.length(leftRing)
	if err != nil {
		return 0, err
	}
	right, err := p.length(rightRing)
	return left + right, err
}

// capSize is the size's name, and whose table it is from.
func (b *book) capSize(of *plan) (size, note string) {
	c, lab, ok := b.capFor(of)
	switch {
	case !ok:
		return "–", b.Sheet1.CapNone
	case lab:
		return c.Name, b.Sheet1.CapLab
	}
	return c.Name, b.Sheet1.CapCommon
}

func (f *flow) capCell(p *plan, x, width float64) {
	size, note := f.capSize(p)
	f.p.fit(x, f.y+nameHeight-1.2, width, stepBold, f.Sheet1.Cap)
	f.p.fit(x, f.y+nameHeight+5.2, width, style{size: 16, bold: true}, size)
	f.p.prose(x, f.y+nameHeight+6, width, small, note)
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
		list = append(list, cell{name: string(m.name), note: percent(share), share: share, distance: m.Distance, box: m.kind()})
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
	return err == nil && !slices.ContainsFunc(cells, func(c cell) bool { return unequal(c.distance, whole*c.share/100) })
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
