package scalp

import (
	"math"

	"calotte/topo"
)

// Extremes are what maps have, and what a scale has to hold of them.
type Extremes struct {
	// Least and Greatest are those where the electrodes know the field, and
	// at them; of what is tested, at them alone. Errors count where the
	// field is guessed, too.
	Least, Greatest float64
	// Below and Above are those of all that is drawn.
	Below, Above float64
	// atLeast and atGreatest are those at the electrodes.
	atLeast, atGreatest float64
	// needs is the least limit of a scale: what the electrodes have, and
	// what is surely more between them.
	needs float64
}

// noExtremes are those of no map.
func noExtremes() Extremes {
	high, low := math.Inf(1), math.Inf(-1)
	return Extremes{high, low, high, low, high, low, 0}
}

// Extremes of one column of a row, seen from one side: values are what the
// sheet shows at the points of the reach.
func (s *Sheet) Extremes(values []float64, column int, k *Knowledge, r *Reach) Extremes {
	e := noExtremes()
	potentials := s.Shows == Amplitudes && s.Quantity == topo.Potential
	for i := range r.nodes {
		if !r.Drawn(i) {
			continue
		}
		v := values[i]
		e.Below, e.Above = min(e.Below, v), max(e.Above, v)
		if r.Known(i) && !s.tested() || s.Shows.isError() {
			e.Least, e.Greatest = min(e.Least, v), max(e.Greatest, v)
			unsure := 0.
			if potentials {
				unsure = k.unsure(column, r, i)
			}
			e.needs = max(e.needs, math.Abs(v)-unsure)
		}
	}
	sites := values[len(r.nodes):]
	for _, i := range k.Own {
		v := sites[i]
		e.atLeast, e.atGreatest = min(e.atLeast, v), max(e.atGreatest, v)
	}
	e.needs = max(e.needs, -e.atLeast, e.atGreatest)
	e.Least, e.Greatest = min(e.Least, e.atLeast), max(e.Greatest, e.atGreatest)
	return e
}

// Joined are the extremes of several maps together.
func Joined(list ...Extremes) Extremes {
	e := noExtremes()
	for _, o := range list {
		e.Least, e.Greatest = min(e.Least, o.Least), max(e.Greatest, o.Greatest)
		e.Below, e.Above = min(e.Below, o.Below), max(e.Above, o.Above)
		e.atLeast, e.atGreatest = min(e.atLeast, o.atLeast), max(e.atGreatest, o.atGreatest)
		e.needs = max(e.needs, o.needs)
	}
	return e
}

// Limit is the least round limit of a scale that holds them.
func (e Extremes) Limit() float64 { return NiceLimit(e.needs) }
