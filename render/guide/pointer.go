package guide

const (
	arrowLength = 10.0
	arrowAcross = 4.0 // what an arrow across the strip takes of its length
	leastArrow  = 3.4 // beside the word
	leastHead   = 2.4
	arrowWord   = 4.6 // what the word takes
	nameAbove   = 2.6 // what a name takes before its mark, and after it with its distance
	nameBelow   = 6.6
)

// pointer is an arrow to the nose with the word, in the widest free stretch.
// Where marks are close the word stands before the arrow, else under it; in
// a language in which it has no room there it is the arrow alone.
func (p *piece) pointer(b *book, on *page) {
	from, to := p.widestGap()
	long := arrowLength
	if p.nose == noseLeft {
		long = arrowAcross
	}
	worded := to-from >= long+arrowWord && small.width(b.Common.Nose) <= p.width-band
	need := min(long, to-from)
	if worded {
		need += arrowWord
	}
	s := from + (to-from-need)/2
	on.open("nose", b.Common.Nose)
	defer on.close()
	word := small.width(b.Common.Nose)
	if beside := nameStart - 2 + word + .8; p.nose == noseLeft && !worded && beside+leastArrow < p.width-band {
		s = (from + to) / 2
		p.word(on, s, nameStart-2, small, b.Common.Nose)
		on.arrow(heavy, p.at(s, beside), p.at(s, p.width-band), leastHead)
		return
	}
	if p.nose == noseLeft {
		across := s + arrowAcross/2
		on.arrow(heavy, p.at(across, nameStart-2), p.at(across, nameStart-2+arrowLength), 3.4)
	} else {
		on.arrow(heavy, p.at(s+min(long, to-from), nameStart+4), p.at(s, nameStart+4), 3.4)
	}
	if worded {
		p.word(on, s+long+arrowWord/2, nameStart-2, small, b.Common.Nose)
	}
}

// widestGap is the longest stretch between names.
func (p *piece) widestGap() (from, to float64) {
	stops := []float64{p.start}
	for _, m := range p.marks {
		if m.distance > p.start && m.distance <= p.end {
			stops = append(stops, m.distance)
		}
	}
	stops = append(stops, p.end)
	for i := range len(stops) - 1 {
		if a, z := stops[i]+nameBelow, stops[i+1]-nameAbove; z-a > to-from+1e-9 {
			from, to = a, z
		}
	}
	return from, to
}
