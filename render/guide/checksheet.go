package guide

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"calotte/layout"
)

// A check is a row of sheet 2: measures that must read a target.
type check struct {
	rule   Rule
	target float64 // mm; zero for two marks that must meet
	boxes  int
}

// checks is sheet 2.
func (b *book) checks(p *plan) error {
	list, err := b.checkList(p)
	if err != nil {
		return err
	}
	page, y := b.start(sheetChecks, b.Sheet2.Title, 1)
	y = page.prose(page.left(), y, page.span(), stepText, fill(b.Sheet2.Intro, "allowed", misplacedText)) + 1
	y = b.checkHead(page, y)
	for _, c := range list {
		y = b.checkRow(page, y, c)
	}
	left, tapped := p.leftFront()
	rest := 0.
	if tapped {
		rest = b.tapHeight(page, left)
	}
	page, room := b.sides(page, y+2, page.room()-rest, p)
	if !tapped {
		return nil
	}
	if !room { // the pairs took its place
		page, _ = b.start(sheetChecks, fill(b.Common.Continued, "title", b.Sheet2.Title), 1)
	}
	b.tapTest(page, page.room()-rest, left)
	return nil
}

func (b *book) checkList(p *plan) ([]check, error) {
	var length [2]float64
	for i, arc := range []string{midline, ""} {
		var err error
		if length[i], err = p.measure(arc); err != nil {
			return nil, err
		}
	}
	r := b.Sheet2.Rules
	return []check{
		{r.Midline, length[0] / 2, 2},
		{r.Ring, length[1], 1},
		{r.MeetingLeft, 0, 1},
		{r.MeetingRight, 0, 1},
	}, nil
}

const (
	checkHeight = 17.0
	checkName   = 47.0 // mm: columns
	checkTarget = 22.0
	checkAllow  = 16.0
)

// checkHead names the columns.
func (b *book) checkHead(p *page, y float64) float64 {
	x := p.left() + tickSize + 2.5 + checkName
	base := y + body.cap() + .5
	p.fit(x, base, checkTarget+checkAllow-2, body, b.Sheet2.Target)
	x += checkTarget + checkAllow
	p.fit(x, base, writeWidth, body, b.Sheet2.Measured)
	x += 2*(writeWidth+2) + 1
	p.fit(x, base, p.right()-x, body, b.Sheet2.IfWrong)
	return y + body.line()
}

func (b *book) checkRow(p *page, y float64, c check) float64 {
	x := p.left()
	p.stroke(hair, r2.Vec{X: x, Y: y}, r2.Vec{X: p.right(), Y: y})
	y += 2
	p.tick(x, y+2)
	x += tickSize + 2.5
	p.prose(x, y, checkName-3, bodyBold, c.rule.Name)
	x += checkName
	target, allowed := c.target, fill(b.Sheet2.Allowed, "allowed", misplacedText)
	if target == 0 {
		target, allowed = misplaced, b.Sheet2.AtMost
	}
	p.put(x, y+2+distance.cap(), distance, layout.Centimetres(target))
	x += checkTarget
	p.fit(x, y+2+distance.cap(), checkAllow-1, body, held.Replace(allowed))
	x += checkAllow
	for range c.boxes {
		p.write(x, y)
		x += writeWidth + 2
	}
	x = p.left() + tickSize + 2.5 + checkName + checkTarget + checkAllow + 2*(writeWidth+2) + 1
	p.prose(x, y-.6, p.right()-x, style{size: 10}, c.rule.Fix)
	return y + checkHeight - 2
}

// A pair is one distance on each side.
type pair struct {
	left, right [2]layout.Name // from, to
	target      [2]float64
}

// pairs are the distances that are compared, as far as the set has the sites.
func (p *plan) pairs() []pair {
	var list []pair
	for _, c := range [][2]layout.Name{{"LPA", "Cz"}, {"LPA", "T7"}, {"Fpz", "F7"}, {"Oz", "P7"}, {"Cz", "C3"},
		{"Fz", "F3"}, {"Pz", "P3"}} {
		left := c
		right := [2]layout.Name{c[0].Mirror(), c[1].Mirror()}
		a, okA := p.between(left)
		z, okZ := p.between(right)
		if okA && okZ {
			list = append(list, pair{left, right, [2]float64{a, z}})
		}
	}
	return list
}

// between is the distance of two marks that the set holds: along the straight
// tape on which both lie, as sheet 1 and the strips have it, else the shortest.
func (p *plan) between(n [2]layout.Name) (float64, bool) {
	a, b := p.byName[n[0]], p.byName[n[1]]
	if a == nil || b == nil {
		return 0, false
	}
	for _, name := range straightArcs {
		r := ruleNamed(name)
		i, j := placeIn(r, n[0]), placeIn(r, n[1])
		if i < 0 || j < 0 {
			continue
		}
		arc, err := r.Section(p.surface)
		if err != nil {
			return 0, false
		}
		return math.Abs(stepAt(r, arc, i) - stepAt(r, arc, j)), true
	}
	d, err := p.surface.Distance(a.Position, b.Position)
	return d, err == nil
}

// placeIn counts a site in its rule, also when it goes by its landmark's name;
// -1 means elsewhere.
func placeIn(r layout.Rule, n layout.Name) int {
	switch n {
	case r.From:
		return 0
	case r.To:
		return len(r.Sites) - 1
	}
	return slices.Index(r.Sites, n)
}

const (
	leastPair = writeHeight + .4 // mm
	mostPair  = writeHeight + 1.5
)

// sides compares the pairs, close together where that keeps them above the
// bottom; room tells whether they stay above it. Where they are longer than the
// page they have one of their own.
func (b *book) sides(p *page, y, bottom float64, of *plan) (on *page, room bool) {
	fix := fill(b.Sheet2.PairsFix, "allowed", misplacedText)
	pairs := of.pairs()
	if len(pairs) == 0 {
		return p, true
	}
	around := style{size: 16}.line() + 1.5 + sidesHead + proseHeight(p.span(), body, fix)
	needs := around + float64(len(pairs))*leastPair
	if room = y+needs <= bottom; !room {
		bottom = p.room()
		if y+needs > bottom {
			p, y = b.start(sheetChecks, fill(b.Common.Continued, "title", b.Sheet2.Title), 1)
		}
	}
	row := min(mostPair, (bottom-y-around)/float64(len(pairs)))
	b.pairRows(p, y, row, pairs)
	return p, room
}

const sidesHead = 5 // mm

func (b *book) pairRows(p *page, y, row float64, pairs []pair) {
	p.open("sides", b.Sheet2.Pairs)
	defer p.close()
	y = b.heading(p, y, b.Sheet2.Pairs)
	middle := p.left() + p.span()/2
	p.fit(middle-2, y+bodyBold.cap(), p.span()/2-20, bodyBold.rightward(), b.Common.Left)
	p.fit(middle+2, y+bodyBold.cap(), p.span()/2-20, bodyBold, b.Common.Right)
	y += sidesHead
	top := y
	for _, c := range pairs {
		p.tick(p.left(), y+2)
		base := y + writeHeight/2 + distance.cap()/2
		p.write(middle-2-writeWidth, y)
		p.write(middle+2, y)
		p.put(middle-2-writeWidth-3, base, distance.rightward(), layout.Centimetres(c.target[0]))
		p.put(middle+2+writeWidth+3, base, distance, layout.Centimetres(c.target[1]))
		name := func(n [2]layout.Name) string { return string(n[0]) + "–" + string(n[1]) }
		p.fit(middle-2-writeWidth-3-25, base, 28, stepBold.rightward(), name(c.left))
		p.fit(middle+2+writeWidth+3+25, base, 28, stepBold, name(c.right))
		y += row
	}
	p.stroke(thin, r2.Vec{X: middle, Y: top}, r2.Vec{X: middle, Y: y - 1.5})
	p.prose(p.left(), y, p.span(), body, fill(b.Sheet2.PairsFix, "allowed", misplacedText))
}

// tapTest catches a plug that is the wrong way round, which no tape can.
func (b *book) tapTest(p *page, y float64, left layout.Name) {
	p.open("tap", b.Sheet2.Plugs)
	defer p.close()
	y = b.heading(p, y, b.Sheet2.Plugs)
	question, answers := b.tapTexts(left)
	y = p.prose(p.left(), y, p.span(), stepText, question) + 1.5
	for i, text := range answers {
		p.tick(p.left(), y)
		x := p.left() + tickSize + 2.5
		y = max(y+tickSize, p.prose(x, y+(tickSize-stepText.line())/2, p.right()-x, tapStyle(i), text)) + 1.2
	}
}

// tapStyle sets the answer that must stop the work in bold.
func tapStyle(i int) style {
	if i == 1 {
		return stepBold
	}
	return stepText
}

func (b *book) tapTexts(left layout.Name) (question string, answers []string) {
	for _, text := range []string{b.Sheet2.TapRight, b.Sheet2.TapWrong, b.Sheet2.TapNothing} {
		answers = append(answers, fill(text, "left", string(left), "right", string(left.Mirror())))
	}
	return fill(b.Sheet2.Tap, "left", string(left)), answers
}

func (b *book) tapHeight(p *page, left layout.Name) float64 {
	question, answers := b.tapTexts(left)
	h := style{size: 16}.line() + 1.5 + proseHeight(p.span(), stepText, question) + 1.5
	for i, text := range answers {
		h += max(tickSize, proseHeight(p.span()-tickSize-2.5, tapStyle(i), text)+(tickSize-stepText.line())/2) +
			1.2
	}
	return h
}

// leftFront is the electrode to tap: F7, else the foremost on the left that has
// a partner on the right.
func (p *plan) leftFront() (layout.Name, bool) {
	var best *mark
	front := math.Inf(-1)
	for _, m := range p.order {
		partner := p.byName[m.name.Mirror()]
		if m.name.Side() != layout.LeftSide || partner == nil || !partner.electrode {
			continue
		}
		y := m.Position.Y
		if m.name == "F7" {
			y = math.Inf(1)
		}
		if y > front {
			best, front = m, y
		}
	}
	if best == nil {
		return "", false
	}
	return best.name, true
}
