package capcheck

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/layout/internal/geometry"
	"calotte/layout/internal/headtest"
)

func TestCapSwaps(t *testing.T) {
	ideal := headtest.Cap64(t, headtest.Measured(t))
	rng := rand.New(rand.NewPCG(8, 1))
	for _, swap := range []Swap{NoSwap, LeftRight, FrontBack, BackToFront} {
		swapped := make([]layout.Site, len(ideal))
		for i, s := range ideal {
			swapped[i] = layout.Site{Name: s.Name, Position: swap.apply(s.Position)}
		}
		turn := r3.Vec{X: 4, Y: -6, Z: 5}
		c, err := CheckSites(ideal, headtest.Planted(swapped, turn, 3, rng), Options{})
		if err != nil {
			t.Fatal(err)
		}
		if c.Swap != swap {
			t.Errorf("%v is taken for %v", swap, c.Swap)
		}
		if got := (r3.Vec{X: c.Turn.Pitch.Degrees, Y: c.Turn.Roll.Degrees,
			Z: c.Turn.Yaw.Degrees}); headtest.Apart(got,
			turn) > 2 {
			t.Errorf("%v: turn %v, want %v", swap, got, turn)
		}
		if swap != NoSwap && (len(c.Advice) != 1 || c.Advice[0].Action != PutRight ||
			c.Advice[0].Swap != swap) {
			t.Errorf("%v: advice %v", swap, c.Advice)
		}
	}
}

// Sites on the midline fit a mirror image as well as themselves.
func TestMidlineIsNotSwapped(t *testing.T) {
	ideal := layout.Sites(headtest.Place(t, head.Sphere(90), "Fpz", "Fz", "Cz", "Pz", "Oz"))
	c, err := CheckSites(ideal, headtest.Planted(ideal, r3.Vec{X: 3}, 0, nil), Options{})
	if err != nil || c.Swap != NoSwap || math.Abs(c.Turn.Pitch.Degrees-3) > 1e-9 {
		t.Errorf("%+v, %v", c, err)
	}
}

// Nor are a few within 2 mm of it, however they scatter.
func TestScatterIsNoSwap(t *testing.T) {
	ideal := layout.Sites(headtest.Place(t, head.Sphere(90), "Fpz", "Fz", "Cz", "Pz", "Oz"))
	for i := range ideal {
		ideal[i].Position.X = 2 * math.Sin(float64(i))
	}
	rng := rand.New(rand.NewPCG(6, 2))
	for range 1000 {
		c, err := CheckSites(ideal, headtest.Planted(ideal, r3.Vec{X: 3}, 3, rng), Options{})
		if err != nil || c.Swap != NoSwap || len(c.Exchanges) != 0 {
			t.Fatalf("%v, %v, %v", c.Swap, c.Exchanges, err)
		}
	}
}

func TestCapExchanges(t *testing.T) {
	ideal := headtest.Cap64(t, headtest.Measured(t))
	rng := rand.New(rand.NewPCG(2, 9))
	for run := range 50 {
		sites := headtest.Planted(ideal, r3.Vec{X: 4, Y: 2, Z: -3}, 3, rng)
		want := map[string]bool{}
		for _, pair := range [][2]string{{"P4", "PO4"}, {"F7", "F8"}} {
			i := slices.IndexFunc(sites, func(s layout.Site) bool { return s.Name == pair[0] })
			j := slices.IndexFunc(sites, func(s layout.Site) bool { return s.Name == pair[1] })
			sites[i].Name, sites[j].Name = sites[j].Name, sites[i].Name
			want[pair[0]], want[pair[1]] = true, true
		}
		c, err := CheckSites(ideal, sites, Options{Limit: 20})
		if err != nil {
			t.Fatal(err)
		}
		if len(c.Exchanges) != 2 || c.Swap != NoSwap {
			t.Errorf("run %d: %v %v", run, c.Swap, c.Exchanges)
			continue
		}
		for _, e := range c.Exchanges {
			if !want[e.Sites[0]] || !want[e.Sites[1]] || e.AsNamed < 15 || e.Exchanged > 15 {
				t.Errorf("run %d: %+v", run, e)
			}
		}
		if math.Abs(c.Turn.Pitch.Degrees-4) > 1.5 || math.Abs(c.Turn.Yaw.Degrees+3) > 1.5 {
			t.Errorf("run %d: the exchange turns the cap: %+v", run, c.Turn)
		}
		if first := c.Advice[0].String(); run == 0 && !strings.HasPrefix(first, "exchange F7 and F8: 1") {
			t.Errorf("advice %q", first)
		}
	}
}

// One electrode that slipped is named, not exchanged, and the limit decides.
func TestCapLimit(t *testing.T) {
	ideal := headtest.Cap64(t, head.Sphere(90))
	sites := slices.Clone(ideal)
	sites[10].Position = geometry.Turned(sites[10].Position, r3.Vec{Z: 0.2})
	c, err := CheckSites(ideal, sites, Options{Limit: 8})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(c.Beyond, []string{sites[10].Name}) || len(c.Exchanges) != 0 {
		t.Errorf("beyond 8 mm: %v, exchanges %v", c.Beyond, c.Exchanges)
	}
	if last := c.Advice[len(c.Advice)-1]; last.Action != Reseat || last.Where != sites[10].Name {
		t.Errorf("advice %v", c.Advice)
	}
	c, err = CheckSites(ideal, headtest.Planted(ideal, r3.Vec{X: 4}, 0, nil), Options{Limit: 8})
	if err != nil || len(c.Beyond) != 0 || c.Headline() != "leave the cap as it is" {
		t.Errorf("6 mm with a limit of 8: %v, %q, %v", c.Beyond, c.Headline(), err)
	}
}

func TestCheckCapSplitsRadial(t *testing.T) {
	ideal := headtest.Cap64(t, head.Sphere(90))
	thick := slices.Clone(ideal)
	for i := range thick {
		thick[i].Position = r3.Scale(1.1, thick[i].Position)
	}
	c, err := CheckSites(ideal, thick, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range c.Sites {
		if s.Along > 1e-9 || math.Abs(s.Radial-9) > 1e-9 || s.Remains > 1e-6 {
			t.Errorf("%+v", s)
		}
	}
}

func TestCheckCapRefuses(t *testing.T) {
	ideal := headtest.Cap64(t, head.Sphere(90))
	cz := layout.Site{Name: "Cz", Position: r3.Vec{Z: 90}}
	for _, c := range []struct {
		ideal, measured []layout.Site
		o               Options
		want            string
	}{
		{ideal, ideal[:3], Options{}, "3 sites have both"},
		{ideal, []layout.Site{{Name: "E1", Position: r3.Vec{X: 1}}}, Options{}, "0 sites have both"},
		{ideal, []layout.Site{cz, {Name: "cz.", Position: r3.Vec{Z: 80}}}, Options{}, `"cz." is given twice`},
		{ideal, []layout.Site{{Name: "Cz", Position: r3.Vec{Z: math.NaN()}}}, Options{}, "finite"},
		{[]layout.Site{cz, cz}, ideal, Options{}, "ideal sites: "},
		{ideal, append([]layout.Site{{Name: "Cz", Position: r3.Vec{}}}, ideal[:4]...), Options{},
			"at the centre of the head"},
		{ideal, ideal, Options{Limit: -1}, "limit -1 mm"},
		{ideal, ideal, Options{Limit: math.NaN()}, "limit NaN mm"},
		{ideal, ideal, Options{TapeError: -1}, "error of the tape"},
	} {
		_, err := CheckSites(c.ideal, c.measured, c.o)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v, want %q", err, c.want)
		}
	}
}

func BenchmarkCheckCap(b *testing.B) {
	placed, err := layout.Place(head.Sphere(90), layout.Set1010())
	if err != nil {
		b.Fatal(err)
	}
	ideal := layout.Sites(placed)
	sites := headtest.Planted(ideal, r3.Vec{X: 4, Z: 2}, 3, rand.New(rand.NewPCG(1, 1)))
	for b.Loop() {
		if _, err := CheckSites(ideal, sites, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// A turn that the landmarks' error may explain is not advised; beyond the
// limit, a tape decides.
func TestCapUncertain(t *testing.T) {
	ideal := headtest.Cap64(t, head.Sphere(90))
	c, err := CheckSites(ideal, headtest.Planted(ideal, r3.Vec{X: 3}, 0, nil),
		Options{Limit: 4, Axes: headtest.PoseErrors(r3.Vec{X: 2, Y: 1, Z: 1})})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(c.Turn.Pitch.Error-2) > 1e-6 || math.Abs(c.Turn.Roll.Error-1) > 1e-6 {
		t.Errorf("%+v, want errors of 2° and 1°", c.Turn)
	}
	if len(c.Beyond) == 0 || len(c.Advice) != 1 || c.Advice[0].Action != CheckByTape ||
		len(c.Advice[0].Tapes) != 4 {
		t.Errorf("beyond %v, advice %v", c.Beyond, c.Advice)
	}
}

// Landmarks given in a circle turn everything by a third.
func TestCapFarTurned(t *testing.T) {
	ideal := headtest.Cap64(t, head.Sphere(90))
	c, err := CheckSites(ideal, headtest.Planted(ideal, r3.Vec{Z: 80}, 0, nil), Options{})
	if err != nil || c.Swap != NoSwap || len(c.Warnings) != 1 ||
		!strings.Contains(c.Warnings[0], "turned by 80°: were the landmarks exchanged?") {
		t.Errorf("%v, %q, %v", c.Swap, c.Warnings, err)
	}
}
