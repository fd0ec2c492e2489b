package render

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot/vg"

	"calotte/layout"
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
