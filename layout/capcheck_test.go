package layout

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// pointsReference holds the numbers of testdata/layout/points.py.
type pointsReference struct {
	Published struct {
		Sites, Landmarks map[string][3]float64
		Radius, RMS      float64
	}
	Scattered struct {
		Points [][3]float64
		Sphere struct {
			Centre      [3]float64
			Radius, RMS float64
		}
		Ellipsoid struct {
			Axes, Centre [3]float64
			Scale, RMS   float64
		}
	}
	Cap struct {
		Ideal, Measured [][3]float64
		Turn, Errors    [3]float64
		Along           []float64
		Rigid           struct {
			Turn, Shift [3]float64
			RMS         float64
		}
	}
}

func readPointsReference(t *testing.T) pointsReference {
	t.Helper()
	text, err := os.ReadFile("../testdata/layout/points.json")
	if err != nil {
		t.Fatal(err)
	}
	var r pointsReference
	if err := json.Unmarshal(text, &r); err != nil {
		t.Fatal(err)
	}
	return r
}

func vec(v [3]float64) r3.Vec { return r3.Vec{X: v[0], Y: v[1], Z: v[2]} }

// numbered names points by the sites of the 10-5 system, whatever they are.
func numbered(points [][3]float64) []Site {
	sites := make([]Site, len(points))
	for i, p := range points {
		sites[i] = Site{string(Set1005()[20+i]), vec(p)}
	}
	return sites
}

func TestCheckCapAgainstScipy(t *testing.T) {
	want := readPointsReference(t).Cap
	c, err := CheckCap(numbered(want.Ideal), numbered(want.Measured), CapOptions{})
	if err != nil {
		t.Fatal(err)
	}
	for i, a := range []Angle{c.Turn.Pitch, c.Turn.Roll, c.Turn.Yaw} {
		// The errors are those of small turns and of a numerical Hessian, which sees the
		// residuals' curvature too.
		if math.Abs(a.Degrees-want.Turn[i]) > 1e-7 || math.Abs(a.Error/want.Errors[i]-1) > 0.01 {
			t.Errorf("angle %d is %+v, scipy %g ± %g", i, a, want.Turn[i], want.Errors[i])
		}
	}
	for i, s := range c.Sites {
		if math.Abs(s.Along-want.Along[i]) > 1e-9 {
			t.Errorf("%s is %g mm off, numpy %g", s.Name, s.Along, want.Along[i])
		}
	}
	if d := r3.Norm(r3.Sub(c.Rigid.Turn, vec(want.Rigid.Turn))); d > 1e-7 {
		t.Errorf("rigid turn %v, scipy %v", c.Rigid.Turn, want.Rigid.Turn)
	}
	if d := r3.Norm(r3.Sub(c.Rigid.Shift, vec(want.Rigid.Shift))); d > 1e-7 || math.Abs(c.Rigid.RMS-want.Rigid.RMS) > 1e-8 {
		t.Errorf("rigid shift %v, rms %g, scipy %+v", c.Rigid.Shift, c.Rigid.RMS, want.Rigid)
	}
}

// planted turns sites as a cap would, by degrees about the three axes at once, and
// scatters them.
func planted(sites []Site, degrees r3.Vec, noise float64, rng *rand.Rand) []Site {
	moved := make([]Site, len(sites))
	for i, s := range sites {
		p := turned(s.Position, r3.Scale(math.Pi/180, degrees))
		if noise > 0 {
			p = r3.Add(p, r3.Scale(noise, r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}))
		}
		moved[i] = Site{s.Name, p}
	}
	return moved
}

// cap64 is 64 sites of the 10-10 system: without the lower ring but for Iz, and
// without the inner sites of the AF and PO rows that other rows lack.
func cap64(t *testing.T, s Surface) []Site {
	t.Helper()
	var names []Name
	for _, n := range Set1010() {
		if text := string(n); !strings.HasSuffix(text, "9") && !strings.HasSuffix(text, "10") && !slices.Contains([]string{"N1", "N2", "Nz", "I1", "I2", "AF5", "AF6", "PO5", "PO6", "AF1", "AF2"}, text) {
			names = append(names, n)
		}
	}
	if len(names) != 64 {
		t.Fatalf("%d sites, want 64", len(names))
	}
	return Sites(mustPlace(t, s, names...))
}

// The signs, one axis at a time, in words: what is seen on the head, and the move
// that undoes it.
func TestCapSigns(t *testing.T) {
	head := Sphere(90)
	ideal := cap64(t, head)
	rim := 90 * 5 * math.Pi / 180
	for _, c := range []struct {
		name   string
		turn   r3.Vec
		at     Name   // an edge and where it went
		off    r3.Vec // rounded to mm
		advice []string
	}{
		{"slid back: front edge high, vertex back", r3.Vec{X: 5}, "Fpz", r3.Vec{Z: 8},
			[]string{"slide the cap 8 mm forward", "nasion to Fpz now 4.3 cm, should be 3.5 cm; inion to Oz now 2.7 cm, should be 3.5 cm"}},
		{"slid forward", r3.Vec{X: -5}, "Cz", r3.Vec{Y: 8},
			[]string{"slide the cap 8 mm backward", "nasion to Fpz now 2.7 cm, should be 3.5 cm; inion to Oz now 4.3 cm"}},
		{"slid right: left edge high", r3.Vec{Y: 5}, "Cz", r3.Vec{X: 8},
			[]string{"slide the cap 8 mm to the wearer's left", "left preauricular point to T7 now 4.3 cm, should be 3.5 cm; right preauricular point to T8 now 2.7 cm"}},
		{"slid left", r3.Vec{Y: -5}, "T8", r3.Vec{Z: 8},
			[]string{"slide the cap 8 mm to the wearer's right", "left preauricular point to T7 now 2.7 cm"}},
		{"front edge turned left", r3.Vec{Z: 5}, "Fpz", r3.Vec{X: -8},
			[]string{"turn: front edge 8 mm to the wearer's right", "left preauricular point to Fpz now 13.4 cm, should be 14.1 cm; right preauricular point to Fpz now 14.9 cm"}},
		{"front edge turned right", r3.Vec{Z: -5}, "Oz", r3.Vec{X: -8},
			[]string{"turn: front edge 8 mm to the wearer's left", "left preauricular point to Fpz now 14.9 cm"}},
	} {
		got, err := CheckCap(ideal, planted(ideal, c.turn, 0, nil), CapOptions{})
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		i := slices.IndexFunc(got.Edges, func(e CapEdge) bool { return e.Site == c.at })
		if e := got.Edges[i]; apart(round(e.Off), c.off) > 0.5 {
			t.Errorf("%s: %s went by %v, want %v", c.name, c.at, e.Off, c.off)
		} else if onAxis := c.turn.Y == 0 || c.at != "Fpz"; onAxis && math.Abs(e.Along-rim) > 1e-9 {
			t.Errorf("%s: %s went %g mm, want %g", c.name, c.at, e.Along, rim)
		}
		if len(got.Advice) != 2 {
			t.Errorf("%s: advice %v", c.name, got.Advice)
			continue
		}
		for i, want := range c.advice {
			if !strings.Contains(got.Advice[i].String(), want) {
				t.Errorf("%s: advice %q, want %q", c.name, got.Advice[i], want)
			}
		}
		if got.RMS > 1e-6 || got.Swap != NoSwap || len(got.Exchanges) != 0 {
			t.Errorf("%s: rms %g, %v, %v", c.name, got.RMS, got.Swap, got.Exchanges)
		}
	}
}

func round(v r3.Vec) r3.Vec {
	return r3.Vec{X: math.Round(v.X), Y: math.Round(v.Y), Z: math.Round(v.Z)}
}

// Doing what the advice says brings the cap back: the move is opposite to the
// displacement found, whatever the turn.
func TestAdviceBringsTheCapBack(t *testing.T) {
	ideal := cap64(t, measured(t))
	rapid.Check(t, func(rt *rapid.T) {
		angle := rapid.Float64Range(-8, 8)
		turn := r3.Vec{X: angle.Draw(rt, "pitch"), Y: angle.Draw(rt, "roll"), Z: angle.Draw(rt, "yaw")}
		c, err := CheckCap(ideal, planted(ideal, turn, 0, nil), CapOptions{Head: measured(t)})
		if err != nil {
			rt.Fatal(err)
		}
		radius := map[Name]float64{}
		for _, e := range c.Edges {
			radius[e.Site] = e.Radius
		}
		// What each direction does, from the definition of the axes.
		undo := map[Direction]map[Action]r3.Vec{
			Forward:   {Sliding: {X: -1 / radius["Cz"]}},
			Backward:  {Sliding: {X: 1 / radius["Cz"]}},
			LeftWard:  {Sliding: {Y: -1 / radius["Cz"]}, Turning: {Z: 1 / radius["Fpz"]}},
			RightWard: {Sliding: {Y: 1 / radius["Cz"]}, Turning: {Z: -1 / radius["Fpz"]}},
		}
		left := r3.Scale(math.Pi/180, turn)
		for _, a := range c.Advice {
			left = r3.Add(left, r3.Scale(a.Amount, undo[a.Direction][a.Action]))
		}
		// Moves below 2 mm are not asked for.
		for _, v := range []float64{left.X, left.Y, left.Z} {
			if math.Abs(v)*radius["Fpz"] > smallestMove*1.2 {
				rt.Errorf("turned by %v°, advice %v leaves %v rad", turn, c.Advice, left)
			}
		}
	})
}

// The planted turn comes back, and the stated error is that of the runs: 5° about
// each axis, 3 mm of scatter in each coordinate, 64 sites, 1,000 runs.
func TestCapTurnIsUnbiased(t *testing.T) {
	const runs = 1000
	ideal := cap64(t, Sphere(DefaultHead().Radius()))
	rng := rand.New(rand.NewPCG(5, 3))
	for axis, turn := range []r3.Vec{{X: 5}, {Y: 5}, {Z: 5}} {
		var sum, square, stated [3]float64
		for range runs {
			c, err := CheckCap(ideal, planted(ideal, turn, 3, rng), CapOptions{})
			if err != nil {
				t.Fatal(err)
			}
			for i, a := range []Angle{c.Turn.Pitch, c.Turn.Roll, c.Turn.Yaw} {
				off := a.Degrees - [3]float64{turn.X, turn.Y, turn.Z}[i]
				sum[i] += off
				square[i] += off * off
				stated[i] += a.Error * a.Error
			}
		}
		for i := range 3 {
			mean := sum[i] / runs
			sd := math.Sqrt((square[i] - runs*mean*mean) / (runs - 1))
			claim := math.Sqrt(stated[i] / runs)
			t.Logf("5° about axis %d, angle %d: mean error %+.4f°, sd %.3f°, stated %.3f°", axis, i, mean, sd, claim)
			if math.Abs(mean) > 3*claim/math.Sqrt(runs) {
				t.Errorf("angle %d is off by %g° in the mean, beyond 3 of its errors, %g°", i, mean, claim/math.Sqrt(runs))
			}
			// The relative error of a standard deviation of 1,000 is 2.2 %.
			if math.Abs(sd/claim-1) > 0.07 {
				t.Errorf("angle %d scatters by %g°, stated %g°", i, sd, claim)
			}
		}
	}
}

func TestCapSwaps(t *testing.T) {
	ideal := cap64(t, measured(t))
	rng := rand.New(rand.NewPCG(8, 1))
	for _, swap := range []Swap{NoSwap, LeftRight, FrontBack, CapBackToFront} {
		swapped := make([]Site, len(ideal))
		for i, s := range ideal {
			swapped[i] = Site{s.Name, swap.apply(s.Position)}
		}
		turn := r3.Vec{X: 4, Y: -6, Z: 5}
		c, err := CheckCap(ideal, planted(swapped, turn, 3, rng), CapOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if c.Swap != swap {
			t.Errorf("%v is taken for %v", swap, c.Swap)
		}
		if got := (r3.Vec{X: c.Turn.Pitch.Degrees, Y: c.Turn.Roll.Degrees, Z: c.Turn.Yaw.Degrees}); apart(got, turn) > 2 {
			t.Errorf("%v: turn %v, want %v", swap, got, turn)
		}
		if swap != NoSwap && (len(c.Advice) != 1 || c.Advice[0].Action != Swapped || c.Advice[0].Swap != swap) {
			t.Errorf("%v: advice %v", swap, c.Advice)
		}
	}
}

// Sites on the midline fit a mirror image as well as themselves.
func TestMidlineIsNotSwapped(t *testing.T) {
	ideal := Sites(mustPlace(t, Sphere(90), "Fpz", "Fz", "Cz", "Pz", "Oz"))
	c, err := CheckCap(ideal, planted(ideal, r3.Vec{X: 3}, 0, nil), CapOptions{})
	if err != nil || c.Swap != NoSwap || math.Abs(c.Turn.Pitch.Degrees-3) > 1e-9 {
		t.Errorf("%+v, %v", c, err)
	}
}

func TestCapExchanges(t *testing.T) {
	ideal := cap64(t, measured(t))
	rng := rand.New(rand.NewPCG(2, 9))
	for run := range 50 {
		sites := planted(ideal, r3.Vec{X: 4, Y: 2, Z: -3}, 3, rng)
		want := map[string]bool{}
		for _, pair := range [][2]string{{"P4", "PO4"}, {"F7", "F8"}} {
			i := slices.IndexFunc(sites, func(s Site) bool { return s.Name == pair[0] })
			j := slices.IndexFunc(sites, func(s Site) bool { return s.Name == pair[1] })
			sites[i].Name, sites[j].Name = sites[j].Name, sites[i].Name
			want[pair[0]], want[pair[1]] = true, true
		}
		c, err := CheckCap(ideal, sites, CapOptions{Limit: 20})
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
	ideal := cap64(t, Sphere(90))
	sites := slices.Clone(ideal)
	sites[10].Position = turned(sites[10].Position, r3.Vec{Z: 0.2})
	c, err := CheckCap(ideal, sites, CapOptions{Limit: 8})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(c.Beyond, []string{sites[10].Name}) || len(c.Exchanges) != 0 {
		t.Errorf("beyond 8 mm: %v, exchanges %v", c.Beyond, c.Exchanges)
	}
	if last := c.Advice[len(c.Advice)-1]; last.Action != Reseat || last.Where != sites[10].Name {
		t.Errorf("advice %v", c.Advice)
	}
	c, err = CheckCap(ideal, planted(ideal, r3.Vec{X: 4}, 0, nil), CapOptions{Limit: 8})
	if err != nil || len(c.Beyond) != 0 || c.Instructions() != "1. leave the cap as it is\n" {
		t.Errorf("6 mm with a limit of 8: %v, %q, %v", c.Beyond, c.Instructions(), err)
	}
}

func TestCheckCapSplitsRadial(t *testing.T) {
	ideal := cap64(t, Sphere(90))
	thick := slices.Clone(ideal)
	for i := range thick {
		thick[i].Position = r3.Scale(1.1, thick[i].Position)
	}
	c, err := CheckCap(ideal, thick, CapOptions{})
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
	ideal := cap64(t, Sphere(90))
	cz := Site{"Cz", r3.Vec{Z: 90}}
	for _, c := range []struct {
		ideal, measured []Site
		o               CapOptions
		want            string
	}{
		{ideal, ideal[:3], CapOptions{}, "3 sites have both"},
		{ideal, []Site{{"E1", r3.Vec{X: 1}}}, CapOptions{}, "0 sites have both"},
		{ideal, []Site{cz, {"cz.", r3.Vec{Z: 80}}}, CapOptions{}, `"cz." is given twice`},
		{ideal, []Site{{"Cz", r3.Vec{Z: math.NaN()}}}, CapOptions{}, "finite"},
		{[]Site{cz, cz}, ideal, CapOptions{}, "ideal sites: "},
		{ideal, append([]Site{{"Cz", r3.Vec{}}}, ideal[:4]...), CapOptions{}, "at the centre of the head"},
		{ideal, ideal, CapOptions{Limit: -1}, "limit -1 mm"},
		{ideal, ideal, CapOptions{Limit: math.NaN()}, "limit NaN mm"},
		{ideal, ideal, CapOptions{TapeError: -1}, "error of the tape"},
	} {
		_, err := CheckCap(c.ideal, c.measured, c.o)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v, want %q", err, c.want)
		}
	}
}

func BenchmarkCheckCap(b *testing.B) {
	placed, err := Place(Sphere(90), Set1010())
	if err != nil {
		b.Fatal(err)
	}
	ideal := Sites(placed)
	sites := planted(ideal, r3.Vec{X: 4, Z: 2}, 3, rand.New(rand.NewPCG(1, 1)))
	for b.Loop() {
		if _, err := CheckCap(ideal, sites, CapOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}
