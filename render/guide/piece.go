package guide

import (
	"math"
	"strconv"
	"unicode"

	"gonum.org/v1/gonum/spatial/r2"

	"calotte/layout"
)

// A piece is as much of a strip as a page is long. Its line runs down the page
// from start to end, turned so that its ends stand above each other.
type piece struct {
	strip
	number, of int
	start, end float64 // along the strip; the neighbours are glued there
	width      float64 // of the paper
	turn       float64
	origin     r2.Vec // of the strip's start on the page
}

const (
	tab       = 11.0 // mm of paper beyond a landmark, with its name
	flap      = 12.0 // beyond a joint, to be glued under the next piece
	jointRoom = 9.0  // between a joint and the next mark
)

// pieces cuts a strip so that no piece is longer than a length on the page.
func (s strip) pieces(longest, width float64) []piece {
	for n := 1; ; n++ {
		list := s.cut(n, width)
		if tallest(list) <= longest {
			return list
		}
	}
}

func (s strip) cut(n int, width float64) []piece {
	list := make([]piece, n)
	start := 0.
	for i := range list {
		end := s.line.length * float64(i+1) / float64(n)
		if i < n-1 {
			end = s.clear(end)
		}
		list[i] = piece{strip: s, number: i + 1, of: n, start: start, end: end, width: width}
		list[i].upright()
		start = end
	}
	return list
}

// tallest is how far the tallest piece reaches down the page.
func tallest(list []piece) float64 {
	most := 0.
	for i := range list {
		least, greatest := list[i].reach()
		most = max(most, greatest-least)
	}
	return most
}

// reach is the piece's extent down the page.
func (p *piece) reach() (least, greatest float64) {
	least, greatest = math.Inf(1), math.Inf(-1)
	for _, w := range []float64{0, p.width} {
		for _, v := range p.edge(w) {
			least, greatest = min(least, v.Y), max(greatest, v.Y)
		}
	}
	return least, greatest
}

// clear moves a joint away from the marks beside it.
func (s strip) clear(joint float64) float64 {
	for _, m := range s.marks {
		if math.Abs(m.distance-joint) < jointRoom {
			return m.distance - jointRoom
		}
	}
	return joint
}

// upright turns the piece so that its ends stand above each other.
func (p *piece) upright() {
	a, _ := p.line.point(p.first())
	b, _ := p.line.point(p.last())
	d := r2.Sub(b, a)
	p.turn = math.Atan2(d.Y, d.X)
}

// first and last bound the paper along the strip, tabs and flap included.
func (p *piece) first() float64 {
	if p.number > 1 {
		return p.start
	}
	return -tab
}

func (p *piece) last() float64 {
	if p.number < p.of {
		return p.end + flap
	}
	return p.line.length + tab
}

// at is the point of the page that lies s mm along the edge and w mm into the
// paper. Along the strip is down the page, its left is the page's right.
func (p *piece) at(s, w float64) r2.Vec {
	v, heading := p.line.point(s)
	if p.rightward {
		w = -w
	}
	sin, cos := math.Sincos(heading)
	v = r2.Add(v, r2.Scale(w, r2.Vec{X: -sin, Y: cos}))
	ts, tc := math.Sincos(-p.turn)
	along, left := v.X*tc-v.Y*ts, v.X*ts+v.Y*tc
	return r2.Add(p.origin, r2.Vec{X: left, Y: along})
}

// tilt is how far type across the strip is turned counterclockwise at s.
func (p *piece) tilt(s float64) float64 {
	_, heading := p.line.point(s)
	return heading - p.turn
}

// edge samples the line that is w mm into the paper.
func (p *piece) edge(w float64) []r2.Vec {
	const step = 1.0
	n := int(math.Ceil((p.last() - p.first()) / step))
	line := make([]r2.Vec, n+1)
	for i := range line {
		line[i] = p.at(p.first()+(p.last()-p.first())*float64(i)/float64(n), w)
	}
	return line
}

const (
	tickLength = 5.0 // of a mark, from the edge into the paper
	nameStart  = 5.8 // mm into the paper
	band       = 4.8 // at the far edge, for code and arc
)

// draw puts the piece on a page.
func (p *piece) draw(b *book, on *page) {
	title := fill(b.Strips.Piece, "arc", p.arc, "piece", strconv.Itoa(p.number), "pieces", strconv.Itoa(p.of))
	on.open("strip-"+p.arc+"-"+strconv.Itoa(p.number), title)
	defer on.close()
	near, far := p.edge(0), p.edge(p.width)
	on.stroke(thin, append(append([]r2.Vec{near[0]}, far...), near[len(near)-1])...)
	on.open("edge", "")
	on.stroke(heavy, near...)
	on.close()
	p.ends(b, on)
	for _, m := range p.marks {
		if m.distance > p.start && m.distance <= p.end {
			p.tick(on, m.name, m.distance, layout.Centimetres(m.distance))
		}
	}
	p.along(on, title, b.code)
	p.pointer(b, on)
}

// ends draws landmarks or joints.
func (p *piece) ends(b *book, on *page) {
	if p.number == 1 {
		p.tick(on, p.from, 0, "")
	} else {
		p.word(on, p.start+3.4, nameStart-3, bodyBold, fill(b.Strips.Join, "letter", letter(p.number-2)))
	}
	if p.number == p.of {
		p.tick(on, p.to, p.line.length, layout.Centimetres(p.line.length))
		return
	}
	on.dashed(thin, p.at(p.end, 0), p.at(p.end, p.width))
	for w := 0.; w < p.width-1; w += 4 {
		on.stroke(hair, p.at(p.end, w), p.at(p.last(), min(p.width, w+4)))
	}
	s := p.end + flap/2
	text := fill(b.Strips.Join, "letter", letter(p.number-1)) + " " + b.Strips.Overlap
	half := bodyBold.width(text)/2 + 1
	on.area(white, p.at(s-2.6, p.width/2-half), p.at(s-2.6, p.width/2+half), p.at(s+2.6, p.width/2+half),
		p.at(s+2.6, p.width/2-half))
	p.word(on, s, p.width/2-half+1, bodyBold, text)
}

// tick is a mark at the edge with its name.
func (p *piece) tick(on *page, n layout.Name, s float64, note string) {
	on.open("mark-"+string(n), "")
	on.stroke(firm, p.at(s, 0), p.at(s, tickLength))
	on.close()
	room := p.width - band - nameStart
	name := style{size: 12, bold: true}
	for ; name.size > leastSize && name.width(string(n)) > room; name.size -= .5 {
	}
	p.word(on, s, nameStart, name, string(n))
	p.word(on, s+4.6, nameStart, small, note)
}

// word sets type across the strip, its middle at s, reading from left to right
// on the page, from w mm into the paper.
func (p *piece) word(on *page, s, w float64, st style, text string) {
	st.turn = p.tilt(s)
	v := p.at(s+st.cap()/2, w)
	if p.rightward {
		st.align = 1
	}
	on.put(v.X, v.Y, st, text)
}

// along writes arc and code down the far band, in as many turned parts as keep
// to a curved strip.
func (p *piece) along(on *page, title, code string) {
	text := title
	if code != "" {
		text = code + "\u2002" + title
	}
	s := p.start + 4
	parts := []string{text}
	if p.curved() {
		parts = chunks(text)
	}
	w := p.width - (band+small.cap())/2
	if p.rightward {
		w = p.width - (band-small.cap())/2
	}
	var last place
	for _, part := range parts {
		for { // as near to the part before as the bend allows
			end := p.chord(s, w, small.width(part))
			st := small
			st.turn = p.tilt((s+end)/2) - math.Pi/2
			_, takes := st.set(p.at(s, w), part)
			if last.text != "" && overlap(takes.corners, last.corners) {
				s += .05
				continue
			}
			if end > p.end-2 {
				on.fail("the wearer's code %q is too long for the strip %s: shorten it", code, p.arc)
				return
			}
			v := p.at(s, w)
			on.put(v.X, v.Y, st, part)
			s, last = end, takes
			break
		}
	}
}

// chord is where along the strip a straight line of a length ends that starts
// at s, both w mm into the paper: a bend makes the way there longer or shorter
// than at the edge.
func (p *piece) chord(s, w, length float64) float64 {
	end := s + length
	for range 4 {
		end = s + (end-s)*length/r2.Norm(r2.Sub(p.at(end, w), p.at(s, w)))
	}
	return end
}

func (p *piece) curved() bool { return math.Abs(p.line.heading[len(p.line.heading)-1]) > .01 }

// chunks splits a text after blanks and hyphens, and where a part would be
// long.
func chunks(text string) []string {
	const long = 6
	var parts []string
	part := ""
	for _, r := range text {
		part += string(r)
		if r == '-' || unicode.IsSpace(r) || len(part) >= long {
			parts, part = append(parts, part), ""
		}
	}
	return append(parts, part)
}
