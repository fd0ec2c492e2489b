package render

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot/vg"
	"pgregory.net/rapid"

	"calotte/layout"
	"calotte/render/canvas"
	"calotte/topo/erp"
)

// A capCase is a cap put on wrong on purpose.
type capCase struct {
	name     string
	names    []layout.Name
	turn     r3.Vec // degrees
	noise    float64
	limit    float64
	swap     func(r3.Vec) r3.Vec
	exchange []string
	slipped  map[string]float64 // degrees about the vertical
	tapes    string
}

func (k capCase) figure(t testing.TB, width vg.Length) *Cap {
	t.Helper()
	head := layout.Sphere(89.127)
	c := &Cap{Width: width * mm, Head: head, Synthetic: true}
	o := layout.CapOptions{Limit: k.limit, Head: head}
	var err error
	if k.tapes != "" {
		tapes, parseErr := layout.ParseTapes(k.tapes)
		if parseErr != nil {
			t.Fatal(parseErr)
		}
		c.Check, err = layout.CheckTapes(head, tapes, o)
	} else {
		c.Ideal = place(t, head, k.names)
		o.AxesError = r3.Vec{X: .8, Y: .6, Z: .6}
		c.Check, err = layout.CheckCap(c.Ideal, k.measured(c.Ideal), o)
	}
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// measured are the sites as the case has them.
func (k capCase) measured(ideal []layout.Site) []layout.Site {
	rng := rand.New(rand.NewPCG(11, 5))
	moved := slices.Clone(ideal)
	for i := range moved {
		s := &moved[i]
		if k.swap != nil {
			s.Position = k.swap(s.Position)
		}
		s.Position = rotated(s.Position, r3.Add(k.turn, r3.Vec{Z: k.slipped[s.Name]}))
		s.Position = r3.Add(s.Position, r3.Scale(k.noise, r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}))
	}
	at := func(name string) *layout.Site {
		return &moved[slices.IndexFunc(moved, func(s layout.Site) bool { return s.Name == name })]
	}
	for i := 0; i+1 < len(k.exchange); i += 2 {
		a, b := at(k.exchange[i]), at(k.exchange[i+1])
		a.Position, b.Position = b.Position, a.Position
	}
	return moved
}

// rotated turns a point by a rotation vector in degrees.
func rotated(p, degrees r3.Vec) r3.Vec {
	if degrees == (r3.Vec{}) {
		return p
	}
	return r3.NewRotation(r3.Norm(degrees)*math.Pi/180, degrees).Rotate(p)
}

var fourSites = []layout.Name{"Fz", "C3", "C4", "Oz"}

var capCases = []capCase{
	{name: "pitch", names: sixtyFour, turn: r3.Vec{X: 5}, noise: 1, limit: 5},
	{name: "roll", names: sixtyFour, turn: r3.Vec{Y: 5}, noise: 1, limit: 5},
	{name: "yaw", names: sixtyFour, turn: r3.Vec{Z: -5}, noise: 1, limit: 5},
	{name: "all", names: sixtyFour, turn: r3.Vec{X: -3, Y: 4, Z: 3}, noise: 2, limit: 8},
	{name: "sides", names: sixtyFour, turn: r3.Vec{X: 2}, noise: 2, limit: 8, swap: func(p r3.Vec) r3.Vec { p.X = -p.X; return p }},
	{name: "ends", names: sixtyFour, noise: 2, swap: func(p r3.Vec) r3.Vec { p.Y = -p.Y; return p }},
	{name: "round", names: sixtyFour, noise: 2, limit: 8, swap: func(p r3.Vec) r3.Vec { return r3.Vec{X: -p.X, Y: -p.Y, Z: p.Z} }},
	{name: "exchange", names: sixtyFour, noise: 1, turn: r3.Vec{X: 2}, limit: 8, exchange: []string{"P4", "PO4"}},
	{name: "two pairs", names: sixtyFour, noise: 1, limit: 8, exchange: []string{"P4", "P6", "F7", "F8"}},
	{name: "perfect", names: sixtyFour, limit: 5},
	{name: "good", names: sixtyFour, noise: 1.5, limit: 8},
	{name: "no limit", names: sixtyFour, noise: 1.5, turn: r3.Vec{X: 1, Y: -2, Z: 1}},
	{name: "slipped", names: sixtyFour, noise: 1.5, limit: 8, slipped: map[string]float64{"C3": 12, "PO8": -20}},
	{name: "four", names: fourSites, noise: 1, turn: r3.Vec{X: 4}, limit: 5},
	{name: "345", names: layout.Set1005(), noise: 1, turn: r3.Vec{X: 4, Z: 3}, limit: 8},
	{name: "345 good", names: layout.Set1005(), noise: 1.5, limit: 8, slipped: map[string]float64{"C3": 12, "PO8": -20}},
	{name: "tapes", limit: 5, tapes: "Nz-Fpz 4.3cm, Iz-Oz 2.6cm, LPA-T7 3.9cm, RPA-T8 3.2cm, LPA-Fpz 13.4cm, RPA-Fpz 14.9cm"},
	{name: "high", limit: 5, tapes: "Nz-Fpz 4.6cm, Iz-Oz 4.1cm, LPA-T7 4.3cm, RPA-T8 4.5cm"},
}

func caseNamed(t testing.TB, name string) capCase {
	t.Helper()
	i := slices.IndexFunc(capCases, func(k capCase) bool { return k.name == name })
	if i < 0 {
		t.Fatalf("no case %q", name)
	}
	return capCases[i]
}

func composeCap(t testing.TB, c *Cap) *CapPlate {
	t.Helper()
	p, err := c.Compose()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// checkCapPage demands that all is on the page, that no text touches another, that
// texts outside the head keep out of it, and that arrows touch neither text nor
// head nor marks.
func checkCapPage(t *testing.T, p *CapPlate) {
	t.Helper()
	boxes, err := canvas.Boxes(p)
	if err != nil {
		t.Fatal(err)
	}
	width, height := p.Size()
	var texts, moves []canvas.Box
	for _, b := range boxes {
		if !b.Within(width, height) {
			t.Errorf("%v %q of %q leaves the page of %.1f × %.1f: %v", b.Kind, b.Text, b.Group, width, height, b.Rect)
		}
		switch {
		case b.Kind == canvas.Text:
			texts = append(texts, b)
		case b.Group == "moves":
			moves = append(moves, b)
		}
	}
	for i, a := range texts {
		for _, b := range texts[:i] {
			if a.Overlaps(b) {
				t.Errorf("%q and %q overlap: %v and %v", a.Text, b.Text, a.Rect, b.Rect)
			}
		}
		for _, m := range moves {
			if !m.Overlaps(a) {
				continue
			}
			// A bent arrow's box holds a corner that the arrow does not.
			if m.Rect.Max.X-m.Rect.Min.X < moveLength+1 && m.Rect.Max.Y-m.Rect.Min.Y < moveLength+1 {
				t.Errorf("an arrow lies on %q", a.Text)
			}
		}
	}
	m := p.drawing
	down := vg.Point{Y: height}
	head := m.frame
	head.center = p.middle.Add(down)
	for _, b := range boxes {
		if b.Kind == canvas.Text && b.Group != "cap" && m.onHead(b.Rect, head.center) {
			t.Errorf("%q lies on the head", b.Text)
		}
	}
	for _, v := range p.moves {
		for _, path := range v.paths {
			for _, q := range path {
				for _, k := range m.marks {
					if distance(q, k.to) < headHalf+m.markRadius(k.electrode) {
						t.Errorf("the arrow of %q lies on %s", v.label.text, k.name)
					}
				}
				if math.Hypot(float64(q.X/(m.frame.right+headHalf)), float64(q.Y/(m.frame.front+headHalf))) < 1 {
					t.Errorf("the arrow of %q lies on the head", v.label.text)
				}
			}
		}
	}
}

// onHead reports whether a box lies on the ellipse of the head.
func (m capMap) onHead(box vg.Rectangle, center vg.Point) bool {
	x := max(box.Min.X-center.X, min(0, box.Max.X-center.X))
	y := max(box.Min.Y-center.Y, min(0, box.Max.Y-center.Y))
	return math.Hypot(float64(x/m.frame.right), float64(y/m.frame.front)) < 1
}

func TestCapPages(t *testing.T) {
	heads := map[string]layout.Ellipsoid{
		"sphere": {}, "long": {Right: 72, Front: 100, Up: 90}, "wide": {Right: 100, Front: 78, Up: 90},
	}
	for i, k := range capCases {
		for j, width := range []vg.Length{80, 85, 114, 139, 180} {
			for name, head := range heads {
				if name != "sphere" && (i+j)%3 != 0 || len(k.names) > 300 && (i+j)%2 != 0 {
					continue // much the same pages again
				}
				t.Run(fmt.Sprintf("%s, %.0f mm, %s", k.name, width, name), func(t *testing.T) {
					c := k.figure(t, width)
					c.Head = head
					checkCapPage(t, composeCap(t, c))
				})
			}
		}
	}
}

func TestCapPagesWithAwkwardTexts(t *testing.T) {
	long := strings.Repeat("something that goes on and on ", 9)
	for name, change := range map[string]func(c *Cap){
		"title":      func(c *Cap) { c.Title = long },
		"one word":   func(c *Cap) { c.Title = strings.Repeat("W", 200) },
		"warnings":   func(c *Cap) { c.Check.Warnings = []string{long, "and more"} },
		"remarks":    func(c *Cap) { c.Remarks = []string{long + "."} },
		"uncompared": func(c *Cap) { c.Check.Uncompared = strings.Fields(long) },
		"names": func(c *Cap) {
			c.Ideal[40].Name, c.Check.Sites[40].Name = "electrode-over-the-ear", "Electrode-over-the-ear"
		},
		"advice": func(c *Cap) {
			c.Check.Advice = nil
			for range 12 {
				c.Check.Advice = append(c.Check.Advice, layout.Advice{Action: layout.Reseat, Where: long})
			}
		},
		"no advice": func(c *Cap) { c.Check.Advice = nil },
	} {
		for _, width := range []vg.Length{85, 180} {
			t.Run(fmt.Sprintf("%s, %.0f mm", name, width), func(t *testing.T) {
				c := caseNamed(t, "all").figure(t, width)
				change(c)
				checkCapPage(t, composeCap(t, c))
			})
		}
	}
}

// Seats are the measured directions, whatever the way from the ideal place.
func TestDisplacedFindsTheMeasuredPlace(t *testing.T) {
	ideal := place(t, layout.Sphere(90), sixtyFour)
	rapid.Check(t, func(rt *rapid.T) {
		angle := rapid.Float64Range(-40, 40)
		turn := r3.Vec{X: angle.Draw(rt, "x"), Y: angle.Draw(rt, "y"), Z: angle.Draw(rt, "z")}
		measured := slices.Clone(ideal)
		for i := range measured {
			measured[i].Position = r3.Scale(1.05, rotated(ideal[i].Position, turn))
		}
		check, err := layout.CheckCap(ideal, measured, layout.CapOptions{})
		if err != nil {
			rt.Fatal(err)
		}
		s, err := (&Cap{Check: check, Ideal: ideal}).locate()
		if err != nil {
			rt.Fatal(err)
		}
		for i, e := range s.electrodes {
			if d := r3.Norm(r3.Sub(r3.Unit(e.seat), r3.Unit(measured[i].Position))); !e.exchanged && d > 1e-9 {
				rt.Errorf("%s sits %g off where it was measured", e.name, d)
			}
		}
	})
}

// The way on the page is what was planted, and the arrow its opposite.
func TestCapDirections(t *testing.T) {
	for _, c := range []struct {
		turn r3.Vec
		site string
		way  vg.Point // a sign for each axis
		move vg.Point
	}{
		{r3.Vec{X: 5}, "Cz", vg.Point{Y: -1}, vg.Point{Y: 1}},  // slid back
		{r3.Vec{X: -5}, "Cz", vg.Point{Y: 1}, vg.Point{Y: -1}}, // slid forward
		{r3.Vec{X: 5}, "Fpz", vg.Point{Y: -1}, vg.Point{Y: 1}}, // front edge high, towards the vertex
		{r3.Vec{Y: 5}, "Cz", vg.Point{X: 1}, vg.Point{X: -1}},  // slid right
		{r3.Vec{Y: -5}, "Cz", vg.Point{X: -1}, vg.Point{X: 1}},
		{r3.Vec{Z: 5}, "Fpz", vg.Point{X: -1}, vg.Point{X: 1, Y: -1}}, // front edge turned left
		{r3.Vec{Z: -5}, "Fpz", vg.Point{X: 1}, vg.Point{X: -1, Y: -1}},
	} {
		p := composeCap(t, capCase{names: sixtyFour, turn: c.turn, limit: 5}.figure(t, 114))
		m := p.drawing
		k := m.marks[slices.IndexFunc(m.marks, func(k capMark) bool { return k.name == c.site })]
		if way := k.to.Sub(k.from); signOf(way) != c.way {
			t.Errorf("turn %v: %s went by %v, want the signs of %v", c.turn, c.site, way, c.way)
		}
		if len(p.moves) != 1 {
			t.Fatalf("turn %v: %d arrows, want one", c.turn, len(p.moves))
		}
		path := p.moves[0].paths[0]
		if move := path[len(path)-1].Sub(path[0]); signOf(move) != c.move {
			t.Errorf("turn %v: the arrow points along %v, want the signs of %v", c.turn, move, c.move)
		}
		// 5° are 7.8 mm of this head.
		if c.site == "Cz" {
			want := 5 * math.Pi / 180 * 89.127 / p.Millimetres * p.Enlarged
			if got := float64(distance(k.to, k.from) / mm); math.Abs(got-want) > 1e-6 {
				t.Errorf("turn %v: %s went %g mm on the page, want %g", c.turn, c.site, got, want)
			}
		}
	}
}

// signOf counts what is less than a tenth of the way as none: a turn follows a
// circle.
func signOf(p vg.Point) vg.Point {
	long := distance(p, vg.Point{})
	sign := func(v vg.Length) vg.Length {
		switch {
		case v > .1*long:
			return 1
		case v < -.1*long:
			return -1
		}
		return 0
	}
	return vg.Point{X: sign(p.X), Y: sign(p.Y)}
}

// Names keep off other marks, and what must be named is.
func TestCapNames(t *testing.T) {
	for _, c := range []struct {
		name  string
		width vg.Length
		want  []string
	}{
		{"exchange", 85, []string{"P4", "PO4"}}, {"two pairs", 85, []string{"F7", "F8", "P4", "P6"}},
		{"slipped", 85, []string{"C3", "PO8"}}, {"345 good", 85, []string{"C3", "PO8"}}, {"tapes", 85, []string{"Fpz", "Oz", "T7", "T8", "Cz"}},
		{"perfect", 180, nil},
	} {
		p := composeCap(t, caseNamed(t, c.name).figure(t, c.width))
		for _, n := range c.want {
			if !slices.Contains(p.Named, n) {
				t.Errorf("%s, %.0f mm: %s has no name", c.name, c.width, n)
			}
		}
		m := p.drawing
		for _, n := range p.names {
			box := n.box()
			box.Min.Y = n.at.Y
			for _, k := range m.marks {
				if k.name != n.electrode && (k.marked() || !n.bold) && inBox(k.to, grown(box, m.markRadius(k.electrode))) {
					t.Errorf("%s, %.0f mm: the name %s covers %s", c.name, c.width, n.text, k.name)
				}
			}
		}
	}
	if n := len(composeCap(t, caseNamed(t, "perfect").figure(t, 180)).Named); n != 63 { // all but Iz, which a letter names
		t.Errorf("%d of 64 electrodes in place are named", n)
	}
}

func capText(p *CapPlate) string {
	var lines []string
	for _, l := range p.page.texts {
		lines = append(lines, l.text)
	}
	return strings.ReplaceAll(strings.Join(lines, " "), "\u00a0", " ")
}

func TestCapStates(t *testing.T) {
	for _, c := range []struct {
		name         string
		want, absent []string
	}{
		{"pitch", []string{"44 of 64 electrodes more than 5 mm off", "1. slide the cap 7 mm forward", "check by tape: nasion to Fpz now", "pitch +4.8° ± 0.8° vertex 7.4 ± 1.3 mm too far back",
			"left and right are the wearer’s", "Displacements are along the scalp", "Not drawn: the distance from the head model", "times longer than the map’s scale", "Synthetic data."}, []string{"exchanged", "Beware", "not measured"}},
		{"exchange", []string{"P4 and PO4 exchanged; 2 of 64", "1. exchange P4 and PO4", "to be exchanged"}, nil},
		{"two pairs", []string{"2 pairs exchanged"}, nil},
		{"sides", []string{"Left and right exchanged", "How the cap sits, once that is undone", "named where it sits"}, []string{"Farthest", "longer"}},
		{"perfect", []string{"All 64 electrodes within 5 mm", "1. leave the cap as it is", "0.0 ± 0.9 mm off"}, []string{"Farthest", "move the cap"}},
		{"no limit", []string{"64 electrodes measured, no limit given", "10 mm off"}, []string{"more than"}},
		{"tapes", []string{"Tapes Nz–Fpz 4.3 cm, should be 3.5 cm: +8.0 mm, beyond the limit", "as the tapes tell", "3. turn: front edge 8 mm to the wearer’s right"}, []string{"Not drawn"}},
		{"high", []string{"pull it down evenly", "8.7 mm too high all round", "yaw not known not seen by these tapes", "Beware – a turn about the vertical is not seen"}, nil},
	} {
		text := capText(composeCap(t, caseNamed(t, c.name).figure(t, 180)))
		for _, w := range c.want {
			if !strings.Contains(text, w) {
				t.Errorf("%s: the page does not say %q: %s", c.name, w, text)
			}
		}
		for _, w := range c.absent {
			if strings.Contains(text, w) {
				t.Errorf("%s: the page says %q: %s", c.name, w, text)
			}
		}
	}
}

func TestCapRefuses(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(c *Cap)
		want   string
	}{
		{"nothing", func(c *Cap) { c.Check = layout.CapCheck{} }, "neither sites nor tapes"},
		{"tapes without edges", func(c *Cap) { c.Check = layout.CapCheck{Tapes: make([]layout.CapTape, 1)} }, "no edges"},
		{"an unknown edge", func(c *Cap) {
			c.Check = layout.CapCheck{Tapes: make([]layout.CapTape, 1), Edges: []layout.CapEdge{{Site: "Fz9", Radius: 90}}}
		}, `edge "Fz9"`},
		{"an edge without radius", func(c *Cap) { c.Check.Edges[0].Radius = 0 }, `edge "Cz" is off`},
		{"a narrow page", func(c *Cap) { c.Width = 60 * mm }, "60 mm wide has no room"},
		{"no width", func(c *Cap) { c.Width = vg.Length(math.NaN()) }, "width is NaN"},
		{"no ideal sites", func(c *Cap) { c.Ideal = nil }, `site "Fp1" of the check has no ideal place`},
		{"an ideal site twice", func(c *Cap) { c.Ideal = append(c.Ideal, c.Ideal[0]) }, "is given twice"},
		{"an ideal site in the centre", func(c *Cap) { c.Ideal[3].Position = r3.Vec{} }, "no direction"},
		{"an infinite way", func(c *Cap) { c.Check.Sites[2].Off.X = math.Inf(1) }, "expected finite numbers"},
		{"a flat head", func(c *Cap) { c.Head = layout.Ellipsoid{Right: 80, Front: 90} }, "semi-axes"},
		{"an unknown exchange", func(c *Cap) { c.Check.Exchanges = []layout.Exchange{{Sites: [2]string{"P4", "Q4"}}} }, `exchanged sites "P4" and "Q4"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := caseNamed(t, "pitch").figure(t, 85)
			c.change(f)
			if _, err := f.Compose(); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want an error with %q", err, c.want)
			}
		})
	}
}

func TestCapIsDeterministic(t *testing.T) {
	var first []byte
	for range 2 {
		var b bytes.Buffer
		for _, f := range []canvas.Format{canvas.PNG, canvas.SVG, canvas.PDF} {
			if err := canvas.Write(&b, composeCap(t, caseNamed(t, "two pairs").figure(t, 114)), f, erp.Provenance{}); err != nil {
				t.Fatal(err)
			}
		}
		if first != nil && !bytes.Equal(first, b.Bytes()) {
			t.Error("the same cap gives other files")
		}
		first = b.Bytes()
	}
}

// One picture of each kind: a turned cap with arrows, an exchanged pair, exchanged
// sides, tapes.
func TestCapPictures(t *testing.T) {
	for _, c := range []struct {
		name  string
		width vg.Length
	}{{"all", 180}, {"exchange", 85}, {"sides", 85}, {"tapes", 114}} {
		checkGolden(t, "cap-"+c.name+".png", composeCap(t, caseNamed(t, c.name).figure(t, c.width)))
	}
}

func BenchmarkCap(b *testing.B) {
	c := caseNamed(b, "345").figure(b, 180)
	for b.Loop() {
		composeCap(b, c)
	}
}
