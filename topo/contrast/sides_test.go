package contrast_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo"
	"calotte/topo/contrast"
	"calotte/topo/erp/average"
	"calotte/topo/inference"
	"calotte/topo/measure"
	"calotte/topo/unit"
)

var pairSites = []string{"P7", "P8", "Cz", "O1", "O2"}

// sphere is the spline through the sites on a sphere, and those sites.
func sphere(t *testing.T, names []string) (*topo.Spline, []layout.Site) {
	t.Helper()
	sites, err := layout.SitesOn(head.Sphere(90), names)
	if err != nil {
		t.Fatal(err)
	}
	spline, err := topo.New(sites, topo.Options{Radius: 90})
	if err != nil {
		t.Fatal(err)
	}
	return spline, sites
}

// flat is an average that has the same values at both of its samples.
func flat(name, condition string, values ...float64) *average.Average {
	a := &average.Average{
		Info:  average.Info{Kind: average.Participant, Name: name, Condition: condition},
		Sites: pairSites[:len(values)], Times: []float64{0, .004},
	}
	for _, v := range values {
		a.Mean = append(a.Mean, []float64{v, v})
	}
	return a
}

// group is a grand average of people.
func group(t *testing.T, people ...*average.Average) contrast.Sample {
	t.Helper()
	mean, err := average.Grand("pilots", people, false)
	if err != nil {
		t.Fatal(err)
	}
	return contrast.Sample{Average: mean, Units: people}
}

var start = []unit.Latency{unit.At(0)}

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-9 || math.IsNaN(got) != math.IsNaN(want) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

// By hand: differences of −1, −2, −3 and −6 µV, mean −3, sd √(14/3), and all 16
// flips.
func TestRightMinusLeftByHand(t *testing.T) {
	spline, _ := sphere(t, pairSites)
	known := group(t,
		flat("a", "known", -4, -5, 0, 1, 2), flat("b", "known", -4, -6, 0, 1, 1),
		flat("c", "known", -5, -8, 0, 1, 0), flat("d", "known", -3, -9, 0, 1, 1))
	s := contrast.Sides{Spline: spline, Test: inference.Options{Arrangements: 16}}
	found, err := s.RightMinusLeft(t.Context(), known, start)
	if err != nil || len(found) != 2 {
		t.Fatal(found, err)
	}
	a := found[0]
	if a.Left != "P7" || a.Right != "P8" || a.N != 4 || a.Over != "people" || a.Condition != "known" || a.Sided ||
		a.Repaired {
		t.Errorf("%+v", a)
	}
	near(t, "left", a.First, -4)
	near(t, "right", a.Second, -7)
	near(t, "difference", a.Difference, -3)
	sem := math.Sqrt(14./3) / 2
	near(t, "error", a.SEM, sem)
	near(t, "low", a.Low, -3-3.182446305284263*sem)
	near(t, "p", a.P, 2./16)
	near(t, "same sign", a.SameSign, 1)
	near(t, "index", a.Index(), -3./11)
	if other := found[1]; other.P != 1 || other.Corrected != 1 { // 1, 0, −1 and 0
		t.Errorf("%+v, want a p of 1", other)
	}
}

// By hand: a pool of P7 and O1 against P8 and O2, −1.5 and −2.5 less by −1 of
// the left; it is the mean of its pairs, and without --of it stands alone.
func TestPooledSides(t *testing.T) {
	spline, _ := sphere(t, pairSites)
	known := group(t, flat("a", "known", -4, -5, 0, 1, 2), flat("b", "known", -4, -6, 0, 1, 1))
	s := contrast.Sides{Spline: spline, Test: inference.Options{Arrangements: 16},
		Pools: []measure.Pool{{Name: "back", Sites: []layout.Name{"P8", "O2"}}}}
	found, err := s.RightMinusLeft(t.Context(), known, start)
	if err != nil || len(found) != 1 {
		t.Fatal(found, err)
	}
	a := found[0]
	near(t, "left", a.First, (-4.+1)/2)
	near(t, "right", a.Second, (-5.5+1.5)/2)
	near(t, "difference", a.Difference, -.5) // people at 0 and −1
	near(t, "error", a.SEM, .5)
	if a.Left != "back left" || a.Right != "back right" {
		t.Errorf("%+v", a)
	}
	s.Of = []layout.Name{"P7", "O1"}
	if found, err = s.RightMinusLeft(t.Context(), known, start); err != nil || len(found) != 3 {
		t.Fatal(found, err)
	}
	for what, of := range map[string]func(contrast.Asymmetry) float64{
		"5 mm to the left": func(a contrast.Asymmetry) float64 { return a.Cap.ToSide },
		"a twist":          func(a contrast.Asymmetry) float64 { return a.Cap.Twisted },
	} {
		near(t, what, of(found[2]), (of(found[0])+of(found[1]))/2)
	}
	for sites, want := range map[[2]layout.Name]string{
		{"P7", "O2"}: "both sides", {"P7", "Cz"}: "Cz has no mirrored site", {"P7", "F7"}: "no F7",
	} {
		s.Pools[0].Sites = sites[:]
		if _, err := s.RightMinusLeft(t.Context(), known,
			start); err == nil || !strings.Contains(err.Error(), want) ||
			!strings.Contains(err.Error(), "pool back") {
			t.Errorf("%v: %v, want %q", sites, err, want)
		}
	}
}

// Without units the standard error that the average keeps gives the interval.
func TestKnownErrors(t *testing.T) {
	spline, _ := sphere(t, pairSites)
	a := flat("a", "known", -4, -7, 0, 1, 2)
	a.Info.Epochs = &average.Counts{Kept: 10}
	a.Info.Repaired = []string{"P8"}
	a.Pairs = average.Pairs{Names: []string{"P8-P7"}, Mean: [][]float64{{-3, -3}}, SEM: [][]float64{{.5, .5}}}
	found, err := contrast.Sides{Spline: spline}.RightMinusLeft(t.Context(), contrast.Sample{Average: a}, start)
	if err != nil {
		t.Fatal(err)
	}
	if p := found[0]; p.N != 10 || p.Over != "epochs" || !p.Repaired || !math.IsNaN(p.P) {
		t.Errorf("%+v", p)
	}
	near(t, "high", found[0].High, -3+2.2621571628540993*.5)
	if p := found[1]; p.N != 0 || !math.IsNaN(p.SEM) || p.Repaired {
		t.Errorf("%+v, want a pair of which nothing is known", p)
	}
}

// By hand: stimuli on the left give −4 and −7, those on the right −6 and −5 at
// P7 and P8.
func TestContralateralByHand(t *testing.T) {
	spline, _ := sphere(t, pairSites)
	left := group(t, flat("a", "left", -4, -7, 0, 0, 0), flat("b", "left", -4, -7, 1, 1, 1))
	right := group(t, flat("b", "right", -6, -5, 0, 0, 0), flat("a", "right", -6, -5, 1, 1, 1))
	s := contrast.Sides{Spline: spline, Of: []layout.Name{"P8"}, Test: inference.Options{Arrangements: 10}}
	found, err := s.Contralateral(t.Context(), left, right, start)
	if err != nil {
		t.Fatal(err)
	}
	a := found[0]
	if !a.Sided || a.Condition != "left, right" || a.N != 2 || a.Over != "people" {
		t.Errorf("%+v", a)
	}
	near(t, "ipsilateral", a.First, (-4.-5)/2)
	near(t, "contralateral", a.Second, (-7.-6)/2)
	near(t, "difference", a.Difference, -2)

	right.Units[0].Info.Name = "c"
	_, err = s.Contralateral(t.Context(), left, right, start)
	if other, ok := errors.AsType[*contrast.MismatchError](err); !ok ||
		other.Reason != "are of other people (b has no partner)" {
		t.Error(err)
	}
	right.Average.Times = []float64{0, .002}
	_, err = s.Contralateral(t.Context(), left, right, start)
	if other, ok := errors.AsType[*contrast.MismatchError](err); !ok ||
		other.Reason != "have other sites or samples" {
		t.Error(err)
	}
}

func TestSidesRefuse(t *testing.T) {
	spline, _ := sphere(t, pairSites)
	other, _ := sphere(t, []string{"P8", "P7", "Cz", "O1", "O2"})
	sample := group(t, flat("a", "known", 1, 2, 3, 4, 5), flat("b", "known", 1, 2, 3, 4, 6))
	for _, c := range []struct {
		sides contrast.Sides
		at    []unit.Latency
		want  string
	}{
		{contrast.Sides{Spline: spline, Of: []layout.Name{"F7"}}, start,
			"there is no F7: there are [P7 P8 Cz O1 O2]"},
		{contrast.Sides{Spline: spline, Of: []layout.Name{"Cz"}}, start, "Cz has no mirrored site among them"},
		{contrast.Sides{Spline: spline, Of: []layout.Name{"P7", "P8"}}, start,
			"the pair of P8 is asked for twice"},
		{contrast.Sides{Spline: other}, start, "the spline goes through other sites"},
		{contrast.Sides{}, start, "a spline through the sites is needed"},
		{contrast.Sides{Spline: spline}, nil, "no latency is asked for"},
		{contrast.Sides{Spline: spline}, start, "a test by 0 arrangements"},
		{contrast.Sides{Spline: spline}, []unit.Latency{unit.At(1)}, "outside the data"},
	} {
		if _, err := c.sides.RightMinusLeft(t.Context(), sample, c.at); err == nil ||
			!strings.Contains(err.Error(), c.want) {
			t.Errorf("%v, want %q", err, c.want)
		}
	}
}

func TestLateralIndex(t *testing.T) {
	for _, c := range []struct{ left, right, sem, want float64 }{
		{-2, -6, .5, -.5}, {1, 3, .1, .5}, {-1, 2, .1, math.NaN()}, {1, 1.1, 2, math.NaN()},
		{0, 3, .1, math.NaN()},
	} {
		near(t, "index", contrast.LateralIndex(c.left, c.right, c.sem), c.want)
	}
}

func TestWords(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		a    contrast.Asymmetry
		want string
	}{
		{contrast.Asymmetry{First: -4, Second: -7, Difference: -3, Low: -4, High: -2},
			"at P7–P8 the negativity is stronger on the right by 3.0 µV."},
		{contrast.Asymmetry{First: 7, Second: 4, Difference: -3, Low: nan, High: nan},
			"at P7–P8 the positivity is stronger on the left by 3.0 µV."},
		{contrast.Asymmetry{First: 7, Second: 4, Difference: -3, Low: -7, High: 1},
			"at P7–P8 neither side is shown to be stronger: the interval holds zero."},
		{contrast.Asymmetry{First: -1, Second: 1, Difference: 2, Low: 1, High: 3, Sided: true},
			"at P7–P8 the two sides have different signs, 2.0 µV apart; the contralateral side is " +
				"more positive."},
		{contrast.Asymmetry{First: 4, Second: 7, Difference: 3, Low: 2, High: 4, P: .04, Corrected: .2},
			"at P7–P8 the positivity is stronger on the right by 3.0 µV. Among all the pairs looked " +
				"at it does " +
				"not stand out."},
	} {
		c.a.Left, c.a.Right = "P7", "P8"
		if got := c.a.Words(); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

// Agreement counts signs: of people at 1, 2, −1 and 4 around a mean of 1.5,
// three agree.
func TestAgreeing(t *testing.T) {
	root := math.Sqrt(4 * 3)
	var spread []float64
	for _, x := range []float64{1, 2, -1, 4} {
		spread = append(spread, (x-1.5)/root)
	}
	if got := contrast.Agreeing(1.5, spread); got != 75 {
		t.Errorf("%g %% agree, want 75", got)
	}
}
