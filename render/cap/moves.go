package cap

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/plot/vg"

	"calotte/layout/capcheck"
	"calotte/render/canvas"
	"calotte/render/paper"
)

// A move is an arrow for what to do, beside the head, with the number that the
// advice has in the list.
type move struct {
	paths [][]vg.Point // each ends in a head
	both  bool         // and begins with one
	label paper.Line
}

const (
	moveLength = 26 * vg.Length(1)
	moveWidth  = 2.2 * vg.Length(1)
	headLength = 6.5 * vg.Length(1)
	headHalf   = 4 * vg.Length(1)
	moveGap    = 3 * vg.Length(1)
)

// A corner is where around the head an arrow stands, as signs of x and y.
type corner struct{ x, y vg.Length }

// straightMoves are the moves that an arrow shows in a corner below the head.
var straightMoves = map[capcheck.Direction]struct {
	at corner
	to vg.Point
}{
	capcheck.Forward:  {corner{-1, -1}, vg.Point{Y: 1}},
	capcheck.Backward: {corner{-1, -1}, vg.Point{Y: -1}},
	capcheck.ToLeft:   {corner{1, -1}, vg.Point{X: -1}},
	capcheck.ToRight:  {corner{1, -1}, vg.Point{X: 1}},
}

// movesOf draws the advice that is a move. The area is the rectangle that the
// drawing may fill; the lower corners may reach out of it downward.
func (m picture) movesOf(advice []capcheck.Advice, area vg.Rectangle) []move {
	var moves []move
	for i, a := range advice {
		label := fmt.Sprintf("%d: %.0f\u00a0mm", i+1, a.Amount)
		switch a.Action {
		case capcheck.SlideCap:
			s := straightMoves[a.Direction]
			moves = append(moves, m.straight(s.at, s.to, false, label, area))
		case capcheck.TurnCap:
			moves = append(moves, m.turning(a.Direction == capcheck.ToRight, label))
		case capcheck.LowerCap, capcheck.LiftCap:
			moves = append(moves, m.height(a.Action == capcheck.LowerCap, label, area))
		case capcheck.PutRight:
			moves = append(moves, m.putRight(a.Swap, fmt.Sprint(i+1), area))
		}
	}
	return moves
}

// putRight shows which sides are exchanged.
func (m picture) putRight(s capcheck.Swap, label string, area vg.Rectangle) move {
	switch s {
	case capcheck.LeftRight:
		return m.straight(corner{1, -1}, vg.Point{X: 1}, true, label, area)
	case capcheck.FrontBack:
		return m.straight(corner{-1, -1}, vg.Point{Y: 1}, true, label, area)
	}
	move := m.turning(true, label)
	back := m.turning(true, label)
	for i, p := range back.paths[0] {
		back.paths[0][i] = vg.Point{X: -p.X, Y: -p.Y}
	}
	move.paths = append(move.paths, back.paths[0])
	return move
}

// straight is an arrow in a corner of the area, clear of the head, with its
// label below.
func (m picture) straight(at corner, to vg.Point, both bool, text string, area vg.Rectangle) move {
	label := paper.Line{Text: text, Bold: true}
	size := vg.Point{X: max(label.Width(), 2*headHalf), Y: moveLength}
	if to.X != 0 {
		size = vg.Point{X: max(label.Width(), moveLength), Y: 2 * headHalf}
	}
	box := vg.Point{X: size.X, Y: size.Y + paper.LineHeight}
	low := vg.Point{X: area.Min.X, Y: area.Min.Y}
	if at.x > 0 {
		low.X = area.Max.X - box.X
	}
	for m.touches(vg.Rectangle{Min: low, Max: low.Add(box)}) {
		low.Y--
	}
	middle := vg.Point{X: low.X + box.X/2, Y: low.Y + paper.LineHeight + size.Y/2}
	label.At = vg.Point{X: middle.X - label.Width()/2, Y: low.Y + paper.Descent}
	half := to.Scale(moveLength / 2)
	return move{paths: [][]vg.Point{{middle.Sub(half), middle.Add(half)}}, both: both, label: label}
}

// touches reports whether a box comes near the head or the marks beyond its
// edge.
func (m picture) touches(box vg.Rectangle) bool {
	clear := 2*moveGap + m.rim()
	x := max(box.Min.X, min(0, box.Max.X))
	y := max(box.Min.Y, min(0, box.Max.Y))
	return math.Hypot(float64(x/(m.frame.Right+clear)), float64(y/(m.frame.Front+clear))) < 1
}

// Turning arrows run along the edge beside the nose, from one azimuth to
// another, in degrees.
const turnFrom, turnTo, turnPoints = 24, 56, 16

func (m picture) turning(right bool, text string) move {
	side := -1.
	if right {
		side = 1
	}
	gap := moveGap + headHalf + m.rim()
	at := func(azimuth float64, gap vg.Length) vg.Point {
		sin, cos := math.Sincos(azimuth * math.Pi / 180)
		return vg.Point{X: vg.Length(side*sin) * (m.frame.Right + gap),
			Y: vg.Length(cos) * (m.frame.Front + gap)}
	}
	var path []vg.Point
	for i := range turnPoints + 1 {
		path = append(path, at(turnFrom+(turnTo-turnFrom)*float64(i)/turnPoints, gap))
	}
	label := paper.Line{Text: text, Bold: true}
	label.At = at((turnFrom+turnTo)/2, gap+headHalf+moveGap)
	if !right {
		label.At.X -= label.Width()
	}
	return move{paths: [][]vg.Point{path}, label: label}
}

// height is four short arrows away from the vertex, beside the ears, or towards
// it.
func (m picture) height(lower bool, text string, area vg.Rectangle) move {
	const azimuth = 70 * math.Pi / 180
	near := headHalf + .5 + m.rim()
	far := near + 2*headLength
	if !lower {
		near, far = far, near
	}
	sin, cos := math.Sincos(azimuth)
	var move move
	for _, s := range []r2.Vec{{X: 1, Y: 1}, {X: 1, Y: -1}, {X: -1, Y: -1}, {X: -1, Y: 1}} {
		out := vg.Point{X: vg.Length(s.X * sin), Y: vg.Length(s.Y * cos)}
		edge := vg.Point{X: out.X * m.frame.Right, Y: out.Y * m.frame.Front}
		move.paths = append(move.paths, []vg.Point{edge.Add(out.Scale(near)), edge.Add(out.Scale(far))})
	}
	move.label = paper.Line{Text: text, Bold: true}
	top := vg.Length(cos)*(m.frame.Front+max(near, far)) + headHalf + moveGap
	move.label.At = vg.Point{X: area.Max.X - move.label.Width(), Y: top}
	return move
}

// box is all that the move covers.
func (v move) box() vg.Rectangle {
	box := v.label.Box()
	for _, path := range v.paths {
		for _, p := range path {
			box.Min = vg.Point{X: min(box.Min.X, p.X-headHalf), Y: min(box.Min.Y, p.Y-headHalf)}
			box.Max = vg.Point{X: max(box.Max.X, p.X+headHalf), Y: max(box.Max.Y, p.Y+headHalf)}
		}
	}
	return box
}

func (v move) draw(c canvas.Canvas) {
	for _, path := range v.paths {
		drawArrow(c, path, moveWidth, headLength, headHalf, v.both)
	}
	c.SetColor(paper.Ink)
	v.label.Draw(c)
}

// drawArrow draws a line with a filled head at its end, or at both.
func drawArrow(c canvas.Canvas, path []vg.Point, width, length, half vg.Length, both bool) {
	last := len(path) - 1
	var heads, shaft vg.Path
	line := append([]vg.Point(nil), path...)
	line[last] = arrowHead(&heads, path[last-1], path[last], length, half)
	if both {
		line[0] = arrowHead(&heads, path[1], path[0], length, half)
	}
	for i, p := range line {
		if i == 0 {
			shaft.Move(p)
		} else {
			shaft.Line(p)
		}
	}
	c.SetLineDash(nil, 0)
	paper.Stroke(c, shaft, paper.Ink, width)
	paper.Fill(c, heads, paper.Ink)
}

// arrowHead adds a triangle with its tip at a point and returns where the shaft
// ends, a little inside it.
func arrowHead(p *vg.Path, from, tip vg.Point, length, half vg.Length) vg.Point {
	d := tip.Sub(from)
	d = d.Scale(1 / vg.Length(math.Hypot(float64(d.X), float64(d.Y))))
	base, across := tip.Sub(d.Scale(length)), vg.Point{X: -d.Y * half, Y: d.X * half}
	p.Move(tip)
	p.Line(base.Add(across))
	p.Line(base.Sub(across))
	p.Close()
	return tip.Sub(d.Scale(.8 * length))
}
