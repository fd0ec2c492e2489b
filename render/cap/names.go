package cap

import (
	"cmp"
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"

	"calotte/layout/capcheck"
	"calotte/render/canvas"
	"calotte/render/paper"
	"calotte/render/scalp"
)

// A name is an electrode's name on the drawing.
type name struct {
	paper.Line
	electrode string
}

// placeNames chooses the names that have room: beside an electrode's own mark
// or its place, covering no other mark, place or way, nearer to its own than to
// another, inside the head, and clear of each other. Exchanged electrodes come
// first, then those beyond the limit, the farthest before others, then the rest
// by how well a site is known. Where only a few are exchanged or beyond the
// limit, their names may cover plain ones if there is no other room.
func (m picture) placeNames() []name {
	n := namer{picture: m, height: canvas.CapHeight(canvas.Sans(paper.TextSize, false))}
	var order []int
	marks := make([]scalp.Mark, len(m.marks))
	for i, k := range m.marks {
		marks[i].Site.Name = k.name
	}
	for _, i := range scalp.ByRank(marks) {
		if scalp.IsLandmark(marks[i].Site.Name) && !m.marks[i].marked() {
			continue // the landmarks' letters name it
		}
		order = append(order, i)
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Compare(importance(m.marks[b].electrode), importance(m.marks[a].electrode))
	})
	far, few := m.farthest()
	for _, i := range far {
		if !n.place(i, false) && few {
			n.place(i, true)
		}
	}
	for _, i := range order {
		if !slices.Contains(far, i) {
			n.place(i, false)
		}
	}
	return n.names
}

// farthest are the marks that the page lists, exchanged ones first, and whether
// they are all that are to be seen.
func (m picture) farthest() (far []int, all bool) {
	for i, k := range m.marks {
		if k.marked() {
			far = append(far, i)
		}
	}
	slices.SortStableFunc(far, func(a, b int) int {
		p, q := m.marks[a], m.marks[b]
		return cmp.Or(cmp.Compare(importance(q.electrode), importance(p.electrode)),
			cmp.Compare(q.along, p.along))
	})
	return far[:min(len(far), mostFar)], len(far) <= mostFar
}

func importance(e electrode) int {
	switch {
	case e.exchanged:
		return 2
	case e.beyond:
		return 1
	}
	return 0
}

// A namer has placed some names and looks for room for the next.
type namer struct {
	picture
	height vg.Length
	names  []name
	taken  []vg.Rectangle
}

// place finds room for the name of mark i, over plain marks if it may.
func (n *namer) place(i int, cover bool) bool {
	k := n.marks[i]
	text := paper.Line{Text: k.name, Bold: k.marked()}
	for _, at := range []vg.Point{k.to, k.from} {
		if n.swapped && at != k.to {
			break // its place is another's
		}
		for _, reach := range []vg.Length{1, 1.4} {
			for _, corner := range corners(text.Width(), n.height,
				reach*(n.ringSize()+scalp.LabelMargin+.4)) {
				text.At = at.Add(corner)
				box := text.Letters(n.height)
				ground := paper.Grown(box, scalp.LabelMargin)
				if !n.frame.Holds(box) ||
					slices.ContainsFunc(n.taken,
						func(r vg.Rectangle) bool { return paper.Overlap(ground, r) }) ||
					!n.free(box, i, cover) {
					continue
				}
				n.taken = append(n.taken, ground)
				n.names = append(n.names, name{text, k.name})
				return true
			}
		}
	}
	return false
}

// corners are the lower left corners of a name at a distance from its mark:
// above, below, right, left, and between.
func corners(width, height, reach vg.Length) []vg.Point {
	return []vg.Point{
		{X: -width / 2, Y: reach},
		{X: -width / 2, Y: -reach - height},
		{X: reach, Y: -height / 2},
		{X: -reach - width, Y: -height / 2},
		{X: .7 * reach, Y: .7 * reach},
		{X: .7 * reach, Y: -.7*reach - height},
		{X: -.7*reach - width, Y: .7 * reach},
		{X: -.7*reach - width, Y: -.7*reach - height},
	}
}

// free reports whether a box covers nothing of others and is nearest to its
// own.
func (n *namer) free(box vg.Rectangle, own int, cover bool) bool {
	middle := box.Min.Add(box.Max).Scale(.5)
	k := n.marks[own]
	least := distance(k.to, middle)
	if !n.swapped {
		least = min(least, distance(k.from, middle))
	}
	for i, o := range n.marks {
		if cover && !o.marked() && i != own {
			continue
		}
		reach := n.markRadius(o.electrode) + scalp.LabelMargin
		if inBox(o.to, paper.Grown(box, reach)) ||
			!n.swapped && crosses(o.from, o.to, paper.Grown(box, scalp.LabelMargin+.4)) {
			return false
		}
		if i != own && (distance(o.to, middle) < 1.2*least ||
			!n.swapped && distance(o.from, middle) < 1.2*least) {
			return false
		}
	}
	for _, p := range n.ideal {
		if !cover && inBox(p, paper.Grown(box, n.ringSize()+scalp.LabelMargin)) {
			return false
		}
	}
	for _, l := range n.links {
		path := n.link(l)
		for i := range path[1:] {
			if crosses(path[i], path[i+1], paper.Grown(box, 1.5)) {
				return false
			}
		}
	}
	return true
}

func inBox(p vg.Point, r vg.Rectangle) bool {
	return p.X > r.Min.X && p.X < r.Max.X && p.Y > r.Min.Y && p.Y < r.Max.Y
}

// crosses reports whether a line from p to q meets a rectangle, by clipping it.
func crosses(p, q vg.Point, r vg.Rectangle) bool {
	from, to := 0., 1.
	for _, side := range [...]struct{ start, way, low, high vg.Length }{
		{p.X, q.X - p.X, r.Min.X, r.Max.X}, {p.Y, q.Y - p.Y, r.Min.Y, r.Max.Y},
	} {
		if side.way == 0 {
			if side.start <= side.low || side.start >= side.high {
				return false
			}
			continue
		}
		a, b := float64((side.low-side.start)/side.way), float64((side.high-side.start)/side.way)
		from, to = max(from, min(a, b)), min(to, max(a, b))
	}
	return from < to
}

// link is the bowed way between two exchanged electrodes, beside the straight
// one.
func (m picture) link(pair [2]int) []vg.Point {
	a, b := m.marks[pair[0]].from, m.marks[pair[1]].from
	d := b.Sub(a)
	length := distance(a, b)
	if length == 0 {
		return nil
	}
	along, across := d.Scale(1/length), vg.Point{X: -d.Y / length, Y: d.X / length}
	bow := max(.18*length, 1.5*m.ringSize())
	way := m.marks[pair[0]].to.Add(m.marks[pair[1]].to).Sub(a.Add(b))
	if across.X*way.X+across.Y*way.Y > 0 { // the other side is free
		across = across.Scale(-1)
	}
	const pieces = 16
	free := min((m.ringSize()+1)/length, .25) // at both ends, for the marks
	var path []vg.Point
	for i := range pieces + 1 {
		t := free + (1-2*free)*vg.Length(i)/pieces
		sag := vg.Length(math.Sin(math.Pi * float64(t)))
		path = append(path, a.Add(along.Scale(t*length)).Add(across.Scale(bow*sag)))
	}
	return path
}

// drawNames writes the names on a pale ground.
func drawNames(c canvas.Canvas, names []name) {
	var grounds vg.Path
	for _, l := range names {
		paper.Rectangle(&grounds, paper.Grown(l.Letters(canvas.CapHeight(l.Face())), scalp.LabelMargin))
	}
	paper.Fill(c, grounds, color.NRGBA{R: 255, G: 255, B: 255, A: 200})
	c.SetColor(paper.Ink)
	for _, l := range names {
		l.Draw(c)
	}
}

// swapText says what a swapped cap's names show.
var swapText = map[capcheck.Swap]string{
	capcheck.LeftRight:   "left and right to be exchanged",
	capcheck.FrontBack:   "front and back to be exchanged",
	capcheck.BackToFront: "cap to be turned round",
}
