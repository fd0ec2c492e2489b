package cap

import (
	"bytes"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot/vg"
	"pgregory.net/rapid"

	"calotte/layout"
	"calotte/layout/capcheck"
	"calotte/layout/head"
	"calotte/render/canvas"
	"calotte/render/internal/figtest"
	"calotte/render/paper"
	"calotte/topo/provenance"
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
	model := head.Sphere(89.127)
	c := &Cap{Width: width * paper.MM, Head: model, Synthetic: true}
	o := capcheck.Options{Limit: k.limit, Head: model}
	var err error
	if k.tapes != "" {
		tapes, parseErr := capcheck.ParseTapes(k.tapes)
		if parseErr != nil {
			t.Fatal(parseErr)
		}
		c.Check, err = capcheck.CheckTapes(model, tapes, o)
	} else {
		c.Ideal = figtest.Place(t, model, k.names)
		// .8°, .6° and .6°
		o.Axes = layout.PoseCovariance{{1.949551487e-4}, {0, 1.096622711e-4}, {0, 0, 1.096622711e-4}}
		c.Check, err = capcheck.CheckSites(c.Ideal, k.measured(c.Ideal), o)
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
		s.Position = r3.Add(s.Position,
			r3.Scale(k.noise, r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}))
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
	{name: "pitch", names: figtest.SixtyFour, turn: r3.Vec{X: 5}, noise: 1, limit: 5},
	{name: "roll", names: figtest.SixtyFour, turn: r3.Vec{Y: 5}, noise: 1, limit: 5},
	{name: "yaw", names: figtest.SixtyFour, turn: r3.Vec{Z: -5}, noise: 1, limit: 5},
	{name: "all", names: figtest.SixtyFour, turn: r3.Vec{X: -3, Y: 4, Z: 3}, noise: 2, limit: 8},
	{name: "sides", names: figtest.SixtyFour, turn: r3.Vec{X: 2}, noise: 2, limit: 8,
		swap: func(p r3.Vec) r3.Vec { p.X = -p.X; return p }},
	{name: "ends", names: figtest.SixtyFour, noise: 2, swap: func(p r3.Vec) r3.Vec { p.Y = -p.Y; return p }},
	{name: "round", names: figtest.SixtyFour, noise: 2, limit: 8,
		swap: func(p r3.Vec) r3.Vec { return r3.Vec{X: -p.X, Y: -p.Y, Z: p.Z} }},
	{name: "exchange", names: figtest.SixtyFour, noise: 1, turn: r3.Vec{X: 2}, limit: 8,
		exchange: []string{"P4", "PO4"}},
	{name: "two pairs", names: figtest.SixtyFour, noise: 1, limit: 8, exchange: []string{"P4", "P6", "F7", "F8"}},
	{name: "perfect", names: figtest.SixtyFour, limit: 5},
	{name: "good", names: figtest.SixtyFour, noise: 1.5, limit: 8},
	{name: "no limit", names: figtest.SixtyFour, noise: 1.5, turn: r3.Vec{X: 1, Y: -2, Z: 1}},
	{name: "slipped", names: figtest.SixtyFour, noise: 1.5, limit: 8,
		slipped: map[string]float64{"C3": 12, "PO8": -20}},
	{name: "four", names: fourSites, noise: 1, turn: r3.Vec{X: 4}, limit: 5},
	{name: "345", names: layout.Set1005(), noise: 1, turn: r3.Vec{X: 4, Z: 3}, limit: 8},
	{name: "345 good", names: layout.Set1005(), noise: 1.5, limit: 8,
		slipped: map[string]float64{"C3": 12, "PO8": -20}},
	{name: "tapes", limit: 5,
		tapes: "Nz-Fpz 4.3cm, Iz-Oz 2.6cm, LPA-T7 3.9cm, RPA-T8 3.2cm, LPA-Fpz 13.4cm, RPA-Fpz 14.9cm"},
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

func composeCap(t testing.TB, c *Cap) *Plate {
	t.Helper()
	p, err := c.Compose()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Seats are the measured directions, whatever the way from the ideal place.
func TestDisplacedFindsTheMeasuredPlace(t *testing.T) {
	ideal := figtest.Place(t, head.Sphere(90), figtest.SixtyFour)
	rapid.Check(t, func(rt *rapid.T) {
		angle := rapid.Float64Range(-40, 40)
		turn := r3.Vec{X: angle.Draw(rt, "x"), Y: angle.Draw(rt, "y"), Z: angle.Draw(rt, "z")}
		measured := slices.Clone(ideal)
		for i := range measured {
			measured[i].Position = r3.Scale(1.05, rotated(ideal[i].Position, turn))
		}
		check, err := capcheck.CheckSites(ideal, measured, capcheck.Options{})
		if err != nil {
			rt.Fatal(err)
		}
		s, err := (&Cap{Check: check, Ideal: ideal}).locate()
		if err != nil {
			rt.Fatal(err)
		}
		for i, e := range s.electrodes {
			if d := r3.Norm(r3.Sub(r3.Unit(e.seat), r3.Unit(measured[i].Position))); !e.exchanged &&
				d > 1e-9 {
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
		p := composeCap(t, capCase{names: figtest.SixtyFour, turn: c.turn, limit: 5}.figure(t, 114))
		m := p.drawing
		k := m.marks[slices.IndexFunc(m.marks, func(k mark) bool { return k.name == c.site })]
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
			if got := float64(distance(k.to, k.from) / paper.MM); math.Abs(got-want) > 1e-6 {
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

func TestCapRefuses(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(c *Cap)
		want   string
	}{
		{"nothing", func(c *Cap) { c.Check = capcheck.Check{} }, "neither sites nor tapes"},
		{"tapes without edges", func(c *Cap) { c.Check = capcheck.Check{Tapes: make([]capcheck.Reading, 1)} },
			"no edges"},
		{"an unknown edge", func(c *Cap) {
			c.Check = capcheck.Check{Tapes: make([]capcheck.Reading, 1),
				Edges: []capcheck.Edge{{Site: "Fz9", Radius: 90}}}
		}, `edge "Fz9"`},
		{"an edge without radius", func(c *Cap) { c.Check.Edges[0].Radius = 0 }, `edge "Cz" is off`},
		{"a narrow page", func(c *Cap) { c.Width = 60 * paper.MM }, "60 mm wide has no room"},
		{"no width", func(c *Cap) { c.Width = vg.Length(math.NaN()) }, "width is NaN"},
		{"no ideal sites", func(c *Cap) { c.Ideal = nil }, `site "Fp1" of the check has no ideal place`},
		{"an ideal site twice", func(c *Cap) { c.Ideal = append(c.Ideal, c.Ideal[0]) }, "is given twice"},
		{"an ideal site in the centre", func(c *Cap) { c.Ideal[3].Position = r3.Vec{} }, "no direction"},
		{"an infinite way", func(c *Cap) { c.Check.Sites[2].Off.X = math.Inf(1) }, "expected finite numbers"},
		{"a flat head", func(c *Cap) { c.Head = head.Ellipsoid{Right: 80, Front: 90} }, "semi-axes"},
		{"an unknown exchange", func(c *Cap) {
			c.Check.Exchanges = []capcheck.Exchange{{Sites: [2]string{"P4",
				"Q4"}}}
		}, `exchanged sites "P4" and "Q4"`},
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
			if err := canvas.Write(&b, composeCap(t, caseNamed(t, "two pairs").figure(t, 114)), f,
				provenance.Record{}); err != nil {
				t.Fatal(err)
			}
		}
		if first != nil && !bytes.Equal(first, b.Bytes()) {
			t.Error("the same cap gives other files")
		}
		first = b.Bytes()
	}
}

// One picture of each kind: a turned cap with arrows, an exchanged pair,
// exchanged sides; the example is of tapes.
func TestCapPictures(t *testing.T) {
	for _, c := range []struct {
		name  string
		width vg.Length
	}{{"all", 180}, {"exchange", 85}, {"sides", 85}} {
		figtest.CheckGolden(t, "cap-"+c.name+".png", composeCap(t, caseNamed(t, c.name).figure(t, c.width)))
	}
}

func BenchmarkCap(b *testing.B) {
	c := caseNamed(b, "345").figure(b, 180)
	for b.Loop() {
		composeCap(b, c)
	}
}
