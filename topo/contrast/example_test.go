package contrast_test

import (
	"context"
	"fmt"
	"log"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo"
	"calotte/topo/contrast"
	"calotte/topo/erp/average"
	"calotte/topo/erp/epoch"
	"calotte/topo/inference"
	"calotte/topo/measure"
	"calotte/topo/unit"
)

// pupils of the harbour school see flags that they know, or that are new to
// them: at the sites of the 10-20 system each has a negativity over the back of
// the head at 170 ms, of some depth in µV, and by about so many µV deeper on
// the right than on the left.
func pupils(condition string, depth float64, right ...float64) []*average.Average {
	placed, err := layout.Place(head.Sphere(90), layout.Set1020())
	if err != nil {
		log.Fatal(err)
	}
	window := epoch.Window{First: -10, Last: 75, Rate: 250}
	var people []*average.Average
	for k, more := range right {
		a := &average.Average{
			Info: average.Info{Kind: average.Participant, Name: fmt.Sprintf("sub-%02d", k+1),
				Condition: condition,
				Rate:      window.Rate},
			Times: window.Times(),
		}
		for s, site := range placed {
			p := r3.Unit(site.Position)
			back := math.Exp(-((p.Y+.7)*(p.Y+.7) + p.Z*p.Z) / .4)
			size := -back*(depth+more*p.X/1.2) + .3*math.Sin(float64(31*k+17*s+int(condition[0])))
			row := make([]float64, len(a.Times))
			for i, t := range a.Times {
				u := (t - .17) / .03
				row[i] = size * math.Exp(-u*u)
			}
			a.Sites, a.Mean = append(a.Sites, site.Name), append(a.Mean, row)
		}
		people = append(people, a)
	}
	return people
}

// grand is a sample of all pupils, with them behind it.
func grand(people []*average.Average) contrast.Sample {
	mean, err := average.Grand("pilots", people, false)
	if err != nil {
		log.Fatal(err)
	}
	return contrast.Sample{Average: mean, Units: people}
}

// splineOf goes through the sites of an average, where the rules put them.
func splineOf(a *average.Average) *topo.Spline {
	measures := head.Default()
	surface, err := measures.Surface()
	if err != nil {
		log.Fatal(err)
	}
	sites, err := layout.SitesOn(surface, a.Sites)
	if err != nil {
		log.Fatal(err)
	}
	spline, err := topo.New(sites, topo.Options{Radius: measures.Radius()})
	if err != nil {
		log.Fatal(err)
	}
	return spline
}

// Is the negativity to known flags larger on the right, and could a crooked cap
// have made it?
func ExampleSides_RightMinusLeft() {
	known := grand(pupils("known", 4, 2, 1.5, 2.5, 1, 2, 3, 1.5, 2.5))
	sides := contrast.Sides{
		Spline: splineOf(known.Average), Of: []layout.Name{"P7"},
		Test: inference.Options{Arrangements: 5000, Seed: 1},
	}
	at := []unit.Latency{unit.Over(.15, .19)}
	found, err := sides.RightMinusLeft(context.Background(), known, at)
	if err != nil {
		log.Fatal(err)
	}
	for _, line := range found[0].Lines() {
		fmt.Println(line)
	}
	// Output:
	// P7–P8  known, 150–190 ms   8 people   left −2.08   right −4.43   right−left −2.35 [−3.03, −1.67]   p* 0.0078
	//   In words: at P7–P8 the negativity is stronger on the right by 2.3 µV.
	//   The smallest turn of all caps alike that would explain it: over 15 mm at the ring.
}

// Flags on the left and on the right of the screen: is the side of the head
// across from the flag the more negative one?
func ExampleSides_Contralateral() {
	left := grand(pupils("left", 4, 2, 1.5, 2.5, 1, 2, 3, 1.5, 2.5))
	right := grand(pupils("right", 4, -1.5, -1, -2, -1.5, -1, -2, -2.5, -1.5))
	sides := contrast.Sides{
		Spline: splineOf(left.Average), Of: []layout.Name{"P8"},
		Test: inference.Options{Arrangements: 5000, Seed: 1},
	}
	at := []unit.Latency{unit.At(.17)}
	found, err := sides.Contralateral(context.Background(), left, right, at)
	if err != nil {
		log.Fatal(err)
	}
	a := found[0]
	fmt.Printf("%s: ipsilateral %.2f, contralateral %.2f µV, p %.4f\n", a.Condition, a.First, a.Second, a.P)
	fmt.Println(a.Words())
	// Output:
	// left, right: ipsilateral -2.56, contralateral -4.91 µV, p 0.0078
	// at P7–P8 the negativity is stronger on the contralateral side by 2.3 µV.
}

// Where and when do known and new flags differ?
func ExampleComparison() {
	groups, err := contrast.Groups([]contrast.Sample{
		grand(pupils("known", 4, 2, 1.5, 2.5, 1, 2, 3, 1.5, 2.5)),
		grand(pupils("novel", 2.5, 1, 1.5, 2, .5, 1.5, 2, 2, 1)),
	})
	if err != nil {
		log.Fatal(err)
	}
	found, err := contrast.Comparison{
		Groups: groups, During: &unit.Span{From: .1, To: .25},
		Test: inference.Options{Arrangements: 1000, Seed: 1},
	}.Run(context.Background())
	if err != nil {
		log.Fatal(err)
	}
	c := found.Clusters[0]
	fmt.Printf("%s: the largest cluster is %s, p %.4f, from %s to %s\n", found.Title, c.Sign(), c.P,
		contrast.Millis(c.From), contrast.Millis(c.To))
	fmt.Printf("at %d sites, most at %s, %s\n", len(c.Sites), c.Peak.Site, contrast.Millis(c.Peak.Time))
	fmt.Println(found.Words())
	// Output:
	// known minus novel: the largest cluster is negative, p 0.0078, from 100 ms to 248 ms
	// at 10 sites, most at O1, 136 ms
	// known and novel differ.
}

// The peak of a component, its latency and where its area is halved, with
// errors by the jackknife over the pupils.
func ExampleScoring() {
	known := grand(pupils("known", 4, 2, 1.5, 2.5, 1, 2, 3, 1.5, 2.5))
	scoring := contrast.Scoring{Sites: []layout.Name{"P8"}}
	window := measure.Window{Name: "n170", Span: unit.Span{From: .13, To: .21}, Polarity: measure.Negative}
	components, err := scoring.Components(known, nil, []measure.Window{window})
	if err != nil {
		log.Fatal(err)
	}
	for _, c := range components {
		fmt.Printf("%s at %s: mean %.2f ± %.2f µV, peak %.2f µV at %s\n", c.Window.Name, c.Place, c.Mean,
			c.Errors.Mean,
			c.Peak, contrast.Millis(math.Round(c.PeakLatency*1e3)/1e3))
	}
	// Output:
	// n170 at P8: mean -3.18 ± 0.12 µV, peak -5.07 µV at 170 ms
	// n170 at field power: mean 0.93 ± NaN µV, peak 1.49 µV at 170 ms
}

// t at a place without an electrode, from the spread of the pupils: no error is
// interpolated.
func ExampleSample_Certainties() {
	known := grand(pupils("known", 4, 2, 1.5, 2.5, 1, 2, 3, 1.5, 2.5))
	spline := splineOf(known.Average)
	at := []unit.Latency{unit.At(.17)}
	values, err := known.Average.At(at[0])
	if err != nil {
		log.Fatal(err)
	}
	po8, err := layout.SitesOn(head.Sphere(90), []string{"PO8"})
	if err != nil {
		log.Fatal(err)
	}
	points := []layout.Site{po8[0]}
	means, err := interpolated(spline, values, points)
	if err != nil {
		log.Fatal(err)
	}
	t, err := known.Certainties(contrast.TValue, means, spline, positions(points), at)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("PO8: %.1f µV, t(%d) = %.1f\n", means.At(0, 0), known.Freedom(), t.At(0, 0))
	// Output: PO8: -4.9 µV, t(7) = -38.8
}

// Whether known flags make the right side differ more from the left than new
// ones do: the difference of the differences, with all that leads to it.
func ExampleTwoFactors() {
	known := grand(pupils("known", 6, 3, 2.2, 3.4, 2.6, 2.9, 3.1))
	novel := grand(pupils("novel", 4, .4, .9, .2, 1.1, .6, .5))
	asked := contrast.TwoFactors{
		Scoring: contrast.Scoring{Sites: []layout.Name{"P7"}},
		First:   contrast.BySides, Second: contrast.ByConditions,
		Test: inference.Options{Arrangements: 5000},
	}
	n170 := measure.Window{Name: "n170", Polarity: measure.Negative, Span: unit.Span{From: .15, To: .19}}
	found, err := asked.Run(context.Background(), []contrast.Sample{known, novel}, []measure.Window{n170})
	if err != nil {
		log.Fatal(err)
	}
	for _, line := range found[0].Lines() {
		fmt.Println(line)
	}
	fmt.Println(found[0].Words())
	// Output:
	// n170 mean, µV   known          novel
	// P8              −6.53 ± 0.12   −3.87 ± 0.09
	// P7              −3.26 ± 0.11   −3.21 ± 0.08
	// P8 minus P7, mean of known and novel   −1.97 [−2.09, −1.84]   p 0.031
	// mean of P8 and P7, known minus novel   −1.35 [−1.46, −1.25]   p 0.031
	// P8 minus P7, known                     −3.27 [−3.85, −2.69]   p 0.031
	// P8 minus P7, novel                     −0.66 [−1.08, −0.24]   p 0.031
	// P8, known minus novel                  −2.66 [−3.19, −2.12]   p 0.031
	// P7, known minus novel                  −0.05 [−0.51, 0.42]    p 0.81
	// P8 minus P7, known minus novel         −2.61 [−3.58, −1.63]   p 0.031
	// n170, mean: the difference known minus novel is more negative at P8 than at P7 by 2.61 µV [1.63, 3.58], p 0.031 (6 people)
}
