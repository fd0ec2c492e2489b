package guide

import (
	"math"
	"strings"

	"calotte/layout"
)

// measures repeats what the tape read, with the size of a cap, and asks for the
// landmarks.
func (f *flow) measures(p *plan) error {
	f.step(f.Sheet1.Landmarks, tickSize+cellHeight)
	names := []string{f.Sheet1.LandmarkNasion, f.Sheet1.LandmarkInion, f.Sheet1.LandmarkLeft,
		f.Sheet1.LandmarkRight}
	width := min(mostCell, (f.p.span()-sideLabel)/float64(len(names)))
	size := stepBold.size // one for all four
	for _, n := range names {
		for size > leastSize && stepBold.of(size).width(n) > width-tickSize-5 {
			size -= .5
		}
	}
	for i, n := range names {
		f.p.cell(f.p.left()+sideLabel+float64(i)*width, f.y, width-2,
			cell{name: n, distance: math.NaN(), size: size})
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
		{f.Sheet1.Circumference, "", p.head.Circumference, h.LeftRing, h.RightRing,
			f.readings(r.Circumference, r.LeftRing, r.RightRing)},
		{f.Sheet1.NasionInion, midline, p.head.NasionInion, 0, 0, f.readings(r.NasionInion, nil, nil)},
		{f.Sheet1.EarEar, coronal, p.head.EarEar, h.LeftEar, h.RightEar,
			f.readings(r.EarEar, r.LeftEar, r.RightEar)},
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
			note = fill(f.Sheet1.Halves, "left", layout.Centimetres(m.left), "right",
				layout.Centimetres(m.right))
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
