package contrast_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo"
	"calotte/topo/contrast"
	"calotte/topo/erp/average"
	"calotte/topo/forward"
)

// onSphere is the spline through sites on a sphere of 90 mm.
func onSphere(t *testing.T, names []layout.Name) (*topo.Spline, []layout.Site) {
	t.Helper()
	placements, err := layout.Place(head.Sphere(90), names)
	if err != nil {
		t.Fatal(err)
	}
	sites := layout.Sites(placements)
	spline, err := topo.New(sites, topo.Options{Radius: 90})
	if err != nil {
		t.Fatal(err)
	}
	return spline, sites
}

// averageOf has a value at each site, from the place where its electrode was.
func averageOf(sites []layout.Site, value func(at r3.Vec) float64) *average.Average {
	a := &average.Average{Info: average.Info{Kind: average.Participant, Name: "a", Condition: "known"},
		Times: []float64{0, .004}}
	for _, s := range sites {
		v := value(s.Position)
		a.Sites, a.Mean = append(a.Sites, s.Name), append(a.Mean, []float64{v, v})
	}
	return a
}

// The smallest turn against all turns: along each of 800 directions, drawn at
// random, the field is read in steps of 0.1 mm until the difference is gone.
// No way is shorter than what the search finds by more than its step, and the
// shortest is as long.
func TestSmallestTurnByBruteForce(t *testing.T) {
	spline, sites := onSphere(t, sixtyFour)
	random := rand.New(rand.NewPCG(5, 1))
	dipoles := append(bilateral(random, .7), bilateral(random, .6)...)
	potentials, err := forward.Homogeneous(90, .33, dipoles, positions(sites))
	if err != nil {
		t.Fatal(err)
	}
	row := 0
	avg := averageOf(sites, func(r3.Vec) float64 {
		row++
		return mat.Sum(potentials.RowView(row - 1))
	})
	found, err := contrast.Sides{Spline: spline}.RightMinusLeft(t.Context(), contrast.Sample{Average: avg}, start)
	if err != nil {
		t.Fatal(err)
	}
	values, err := avg.At(start[0])
	if err != nil {
		t.Fatal(err)
	}
	c, err := spline.Solve(mat.NewVecDense(len(values), values))
	if err != nil {
		t.Fatal(err)
	}
	const step, reach = .1, 15.
	within := 0
	for _, a := range found {
		if !slices.Contains([]string{"FC5", "C3", "P3", "O1", "AF7"}, a.Left) {
			continue
		}
		left, right := siteAt(t, sites, a.Left), siteAt(t, sites, a.Right)
		shortest := math.Inf(1)
		for range 800 {
			axis := r3.Unit(r3.Vec{X: random.NormFloat64(), Y: random.NormFloat64(),
				Z: random.NormFloat64()})
			var places []r3.Vec
			for way := step; way < min(reach, shortest); way += step {
				turn := r3.NewRotation(way/90, axis)
				places = append(places, turn.Rotate(left), turn.Rotate(right))
			}
			read := spline.Interpolate(places, topo.Potential, c)
			for k := 0; 2*k < len(places); k++ {
				if (read.At(2*k+1, 0)-read.At(2*k, 0))*a.Difference <= 0 {
					shortest = step * float64(k+1)
					break
				}
			}
		}
		got := a.Cap.Explains.Slide
		t.Logf("%s–%s: %.2f mm, by brute force %.2f mm", a.Left, a.Right, got, shortest)
		if math.IsNaN(got) != math.IsInf(shortest, 1) {
			t.Errorf("%s: %g mm, by brute force %g mm", a.Left, got, shortest)
		} else if !math.IsNaN(got) {
			within++
			if got > shortest+.001 || got < shortest-.15 {
				t.Errorf("%s: %g mm, by brute force %g mm", a.Left, got, shortest)
			}
		}
	}
	if within < 4 {
		t.Errorf("%d of the pairs have a turn within reach: too few to tell", within)
	}
}

func siteAt(t *testing.T, sites []layout.Site, name string) r3.Vec {
	t.Helper()
	for _, s := range sites {
		if s.Name == name {
			return s.Position
		}
	}
	t.Fatalf("no %s", name)
	return r3.Vec{}
}

// A field that is the same on both sides, recorded by a cap that sat turned by
// a few millimetres: the smallest turn is named by how the cap sat. Along each
// axis alone it has the sign of what was planted, and is no longer.
func TestSmallestTurnIsHowTheCapSat(t *testing.T) {
	spline, sites := onSphere(t, layout.Set1010())
	field := func(p r3.Vec) float64 { // mirrored; pitch changes neither side's share
		u := r3.Unit(p)
		return 3*u.X*u.X - 2*u.Y*u.Z + 2*u.Y*u.X*u.X
	}
	for _, c := range []struct {
		degrees r3.Vec
		axis    func(r3.Vec) float64
		words   string
	}{
		{r3.Vec{Z: 3}, func(v r3.Vec) float64 { return v.Z }, "twist, front to the wearer's left"},
		{r3.Vec{Z: -3}, func(v r3.Vec) float64 { return v.Z }, "twist, front to the wearer's right"},
		{r3.Vec{Y: 3}, func(v r3.Vec) float64 { return v.Y }, "mm to the wearer's right"},
		{r3.Vec{Y: -3}, func(v r3.Vec) float64 { return v.Y }, "mm to the wearer's left"},
	} {
		sat := contrast.Turned(r3.Scale(math.Pi/180, c.degrees))
		avg := averageOf(sites, func(p r3.Vec) float64 { return field(sat(p)) })
		s := contrast.Sides{Spline: spline, Of: []layout.Name{"P5"}}
		found, err := s.RightMinusLeft(t.Context(), contrast.Sample{Average: avg}, start)
		if err != nil {
			t.Fatal(err)
		}
		e, planted := found[0].Cap.Explains, 3*math.Pi/180*90
		if c.axis(e.Degrees)*c.axis(c.degrees) <= 0 || e.Slide > planted*1.01 ||
			!strings.Contains(e.Direction(), c.words) {
			t.Errorf("planted %v°: found %+v (%s)", c.degrees, e, e.Direction())
		}
		// a cap that is known to have sat so explains all of it
		turn := r3.Scale(math.Pi/180, e.Degrees)
		s.Cap = &turn
		if found, err = s.RightMinusLeft(t.Context(), contrast.Sample{Average: avg}, start); err != nil {
			t.Fatal(err)
		}
		if left := found[0].Difference + found[0].Cap.Checked; math.Abs(left) > 1e-8 {
			t.Errorf("planted %v°: undoing the turn leaves %g µV", c.degrees, left)
		}
	}
}

// The parts of a turn are named by size, the small ones not at all.
func TestTurnDirection(t *testing.T) {
	for _, c := range []struct {
		degrees r3.Vec
		want    string
	}{
		{r3.Vec{Z: 1.8, Y: .6}, "1.8° of twist, front to the wearer's left, with 0.9 mm to the wearer's right"},
		{r3.Vec{Z: -1, Y: -2, X: -1.5},
			"3.1 mm to the wearer's left, with 2.4 mm to the front and 1.0° of twist, front to the " +
				"wearer's right"},
		{r3.Vec{X: 2, Z: .19}, "3.1 mm to the back"},
	} {
		turn := contrast.CapTurn{Slide: r3.Norm(c.degrees) * math.Pi / 180 * 90, Degrees: c.degrees}
		if got := turn.Direction(); got != c.want {
			t.Errorf("%v: %q, want %q", c.degrees, got, c.want)
		}
	}
}

// The interval, as wide as it is, touches zero at a turn whose undoing takes
// the difference to half of its width. Where it holds zero there is no such
// turn, and beyond the reach none at all.
func TestTurnToTouchAndBeyondReach(t *testing.T) {
	spline, sites := onSphere(t, sixtyFour)
	people := func(more float64) contrast.Sample {
		var list []*average.Average
		for k := range 4 {
			a := averageOf(sites, func(p r3.Vec) float64 {
				u := r3.Unit(p)
				return 6*u.X*u.X*u.Y + (more+.02*float64(k))*u.X
			})
			a.Info.Name = fmt.Sprint("p", k)
			list = append(list, a)
		}
		return group(t, list...)
	}
	s := contrast.Sides{Spline: spline, Of: []layout.Name{"C3"}}
	s.Test.Arrangements = 99
	ask := func(more float64) contrast.Asymmetry {
		found, err := s.RightMinusLeft(t.Context(), people(more), start)
		if err != nil {
			t.Fatal(err)
		}
		return found[0]
	}
	a := ask(.1)
	if !a.Cap.Explains.Known() || a.Cap.Touches.Slide >= a.Cap.Explains.Slide {
		t.Fatalf("%+v", a.Cap)
	}
	turn := r3.Scale(math.Pi/180, a.Cap.Touches.Degrees)
	s.Cap = &turn
	if b := ask(.1); math.Abs(b.Difference+b.Cap.Checked-(b.High-b.Low)/2) > 1e-8 {
		t.Errorf("undone, the difference is %g µV, want %g µV", b.Difference+b.Cap.Checked, (b.High-b.Low)/2)
	}
	if a := ask(-.03); a.Cap.Touches.Known() || !a.Cap.Explains.Known() {
		t.Errorf("an interval of [%g, %g]: %+v", a.Low, a.High, a.Cap)
	}
	a = ask(2)
	if a.Cap.Touches.Known() || a.Cap.Explains.Known() {
		t.Errorf("%+v", a.Cap)
	}
	if lines := strings.Join(a.Lines(), " "); !strings.Contains(lines,
		"would explain it: over 15 mm at the ring.") {
		t.Error(lines)
	}
}
