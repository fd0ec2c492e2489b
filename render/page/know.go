package page

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"calotte/render/scalp"
	"calotte/topo"
)

// A knowing is what the electrodes know of all conditions at all samples. It
// does not change as the cursor moves, so that its bounds do not flicker.
type knowing struct {
	rows  []scalp.Row
	known []*scalp.Knowledge // of each condition
	lands []territory
	of    []int // the land of each condition
}

// A territory is what conditions with the same electrodes share, at the nodes
// of the grid and then at the sites: how wrong the interpolation may be, as the
// variance of its error over the field's, and what stands there.
type territory struct {
	*scalp.Knowledge
	shape     []float64
	standings []topo.Standing
}

func (s *Study) overhang() float64 { return cmp.Or(s.Overhang, topo.Overhang) }

func (s *Study) know(g grid) (*knowing, error) {
	k := &knowing{}
	for _, c := range s.Conditions {
		values := mat.NewDense(len(s.Sites), len(s.Times), nil)
		for i, row := range c.Values {
			values.SetRow(i, row)
		}
		marks := scalp.MeasuredAt(s.Sites)
		for i, kind := range c.Marks {
			marks[i].Kind = kind
		}
		k.rows = append(k.rows, scalp.Row{Title: c.Title, Spline: s.Spline, Values: values, Marks: marks})
	}
	var err error
	if k.known, err = scalp.Know(k.rows, s.overhang()); err != nil {
		return nil, err
	}
	points := g.directions(s.Head)
	for _, site := range s.Sites {
		points = append(points, site.Position)
	}
	for _, known := range k.known {
		same := func(t territory) bool { return t.Territory == known.Territory }
		at := slices.IndexFunc(k.lands, same)
		if at < 0 {
			ignorance, err := known.Spline.Ignorance(points)
			if err != nil {
				return nil, err
			}
			t := territory{Knowledge: known, standings: known.Of(points, ignorance)}
			for i, g := range ignorance {
				t.shape = append(t.shape, g.Field+known.Rough.Nugget*g.Noise)
				if at := &t.standings[i]; s.Extrapolate {
					at.Guess, at.Paper = max(at.Guess, at.Paper), -1
				}
			}
			at, k.lands = len(k.lands), append(k.lands, t)
		}
		k.of = append(k.of, at)
	}
	return k, nil
}

// land is the territory of a condition.
func (k *knowing) land(condition int) territory { return k.lands[k.of[condition]] }

// sigma is that of a condition's field at a sample, in µV.
func (k *knowing) sigma(condition, sample int) float64 {
	return math.Sqrt(k.known[condition].Rough.Variances[sample])
}

// isKnown and isDrawn report what stands at a node or site.
func (t territory) isKnown(i int) bool { return t.standings[i].Guess <= 0 && t.isDrawn(i) }
func (t territory) isDrawn(i int) bool { return t.standings[i].Paper <= 0 }

// A land is a territory as the page reads it.
type land struct {
	Electrodes int    `json:"electrodes"` // that know something of their own
	Indicative bool   `json:"indicative"` // they are too few to say how wrong it may be
	Shape      packed `json:"shape"`      // at the nodes
	AtSites    packed `json:"atSites"`
	// Standing has two rows, at the nodes: above zero what is guessed, and
	// what is paper. Beyond ±1 it does not matter how far.
	Standing packed `json:"standing"`
}

// packed are the lands on a grid of so many nodes.
func (k *knowing) packed(nodes int) ([]land, error) {
	var list []land
	for _, t := range k.lands {
		l := land{Electrodes: len(t.Own), Indicative: t.Rough.Indicative}
		guess, paper := make([]float64, nodes), make([]float64, nodes)
		for i := range nodes {
			guess[i] = min(max(t.standings[i].Guess, -1), 1)
			paper[i] = min(max(t.standings[i].Paper, -1), 1)
		}
		const shapeSteps, standingStep = 1 << 24, 1. / 512
		step := max(slices.Max(t.shape), math.SmallestNonzeroFloat32) / shapeSteps
		var err error
		if l.Shape, err = pack([][]float64{t.shape[:nodes]}, step, ofSmooth); err != nil {
			return nil, err
		}
		if l.AtSites, err = pack([][]float64{t.shape[nodes:]}, step, 1); err != nil {
			return nil, err
		}
		if l.Standing, err = pack([][]float64{guess, paper}, standingStep, ofCourses); err != nil {
			return nil, err
		}
		list = append(list, l)
	}
	return list, nil
}

// departing is a sample and an electrode that departs there from what the
// others predict, and by how many of its errors.
type departing [3]float64

// tell says of a condition what its electrodes know.
func (k *knowing) tell(i int, c *condition) error {
	c.Land = k.of[i]
	var sigma []float64
	for sample := range k.known[i].Rough.Variances {
		sigma = append(sigma, k.sigma(i, sample))
	}
	var err error
	if c.Sigma, err = pack([][]float64{sigma}, valueStep, ofCourses); err != nil {
		return err
	}
	found, err := k.known[i].Departures(k.rows[i].Values)
	if err != nil {
		return err
	}
	c.Departing = []departing{}
	for sample, list := range found {
		for _, d := range list {
			c.Departing = append(c.Departing, departing{float64(sample), float64(d.Site), rounded(d.Z)})
		}
	}
	return nil
}
