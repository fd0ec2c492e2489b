package study

import (
	"fmt"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/topo/forward"
)

// How people differ besides: in the size of a component, in that of each of
// its generators, and in the generators' places.
const (
	sizeSpread = 0.20
	ownSpread  = 0.08
	placeSD    = 2.0 // mm along each axis
)

// response is what the flags evoke in one person.
type response struct {
	pattern [][]float64  // one row a generator, one value a sensor, µV for 1 nA·m
	courses []course     // of each generator
	moments [2][]float64 // nA·m by condition
}

// newResponse draws one person's response around the planted components.
func newResponse(rng *rand.Rand, s *scalp, moments [][2][]float64) (*response, error) {
	r := new(response)
	var dipoles []forward.Dipole
	for c, part := range planted() {
		size := variation(rng, sizeSpread)
		moved := part.course
		moved.latency += part.scatter * rng.NormFloat64()
		effects := [2]float64{variation(rng, part.effect), variation(rng, part.effect)}
		for g, source := range part.generators {
			d := source.dipole()
			d.Position = r3.Add(d.Position, r3.Scale(placeSD,
				r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}))
			dipoles = append(dipoles, d)
			r.courses = append(r.courses, moved)
			own := size * variation(rng, ownSpread)
			for k, effect := range effects {
				r.moments[k] = append(r.moments[k], own*effect*moments[c][k][g])
			}
		}
	}
	var err error
	r.pattern, err = s.patterns(dipoles)
	return r, err
}

// conditionIndex finds a condition's place in the tables.
func conditionIndex(condition string) (int, error) {
	k := slices.Index(conditions(), condition)
	if k < 0 {
		return 0, fmt.Errorf("condition %q: expected %s or %s", condition, Known, Novel)
	}
	return k, nil
}

// Evoked returns the participant's response to a flag of the condition
// without any noise, sites × times, in µV against the average of the 64 sites.
// Times are in seconds from the onset. It is what the average of ever more
// epochs converges to.
func (p *Participant) Evoked(condition string, sites []string, times []float64) (*mat.Dense, error) {
	k, err := conditionIndex(condition)
	if err != nil {
		return nil, err
	}
	if len(sites) == 0 || len(times) == 0 {
		return nil, fmt.Errorf("%d sites and %d times: give at least one of each", len(sites), len(times))
	}
	evoked := mat.NewDense(len(sites), len(times), nil)
	for g, c := range p.response.courses {
		pattern := slices.Clone(p.response.pattern[g])
		toAverage(pattern)
		for i, site := range sites {
			at, err := p.study.scalp.at(site)
			if err != nil {
				return nil, err
			}
			peak := p.response.moments[k][g] * pattern[at]
			for j, t := range times {
				evoked.Set(i, j, evoked.At(i, j)+peak*c.at(t))
			}
		}
	}
	return evoked, nil
}

// Evoked returns the mean of the participants' responses, sites × times; see
// [Participant.Evoked].
func (s *Study) Evoked(condition string, sites []string, times []float64) (*mat.Dense, error) {
	var mean mat.Dense
	for _, p := range s.participants {
		one, err := p.Evoked(condition, sites, times)
		if err != nil {
			return nil, err
		}
		if mean.IsEmpty() {
			mean.CloneFrom(one)
			continue
		}
		mean.Add(&mean, one)
	}
	mean.Scale(1/float64(len(s.participants)), &mean)
	return &mean, nil
}
