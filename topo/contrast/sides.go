package contrast

import (
	"context"
	"errors"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo"
	"calotte/topo/erp/average"
	"calotte/topo/inference"
	"calotte/topo/measure"
	"calotte/topo/unit"
)

// Sides asks how the two sides of the head differ.
type Sides struct {
	Spline *topo.Spline  // through the sites of the averages, on the wearer's head
	Of     []layout.Name // one side of each pair; without these and pools: all pairs
	// Pools are means of sites on one side, set against those of the
	// mirrored sites, after the pairs.
	Pools []measure.Pool
	// Mirror finds the mirror pairs among sites; nil: by their names.
	Mirror    func(sites []string) []layout.Pair
	Digitised bool // the sites are where they were measured, and need not mirror each other
	// how a cap check found the cap turned, a rotation vector in radians;
	// nil: there was none
	Cap *r3.Vec
	// what is known of the poses of all caps: then differences are those at
	// the ideal sites, and their intervals hold its error; nil: nothing
	Placement *Placement
	Notes     []head.Note // about the head
	Test      inference.Options
}

// RightMinusLeft compares the sides of an average at some latencies: an entry
// for each latency and pair, in this order. The test stops when the context
// ends.
func (s Sides) RightMinusLeft(ctx context.Context, of Sample, at []unit.Latency) ([]Asymmetry, error) {
	pairs, err := s.Pairs(of.Average.Sites)
	if err != nil {
		return nil, err
	}
	recorded := of
	if of, err = s.atIdeal(of); err != nil {
		return nil, err
	}
	avg := of.Average
	amplitudes, err := amplitudesAt(avg, at)
	if err != nil {
		return nil, err
	}
	field, err := s.field(avg.Sites, amplitudes)
	if err != nil {
		return nil, err
	}
	errors, err := s.placedErrors(recorded, pairs, at)
	if err != nil {
		return nil, err
	}
	var rows []Asymmetry
	for column, latency := range at {
		var own []Asymmetry
		for _, p := range pairs {
			a := newAsymmetry()
			a.First, a.Second = p.of(mat.Col(nil, column, amplitudes))
			a.Difference = a.Second - a.First
			own = append(own, a)
		}
		if len(of.Units) >= 2 {
			err = s.test(ctx, own, of, pairs, latency)
		} else {
			err = known(own, avg, pairs, latency)
		}
		if err != nil {
			return nil, err
		}
		if err := carried(own, recorded, pairs, latency); err != nil {
			return nil, err
		}
		s.place(own, errors, column)
		s.complete(own, pairs, latency, of.title(), field, column, avg)
		rows = append(rows, own...)
	}
	return rows, nil
}

// amplitudesAt are those of an average, site × latency.
func amplitudesAt(avg *average.Average, at []unit.Latency) (*mat.Dense, error) {
	if len(at) == 0 {
		return nil, errors.New("no latency is asked for")
	}
	out := mat.NewDense(len(avg.Sites), len(at), nil)
	for column, latency := range at {
		values, err := avg.At(latency)
		if err != nil {
			return nil, err
		}
		out.SetCol(column, values)
	}
	return out, nil
}

// complete adds to the pairs of a latency what does not depend on statistics.
// It comes last, since what explains a difference depends on its interval.
func (s Sides) complete(rows []Asymmetry, pairs []SidePair, at unit.Latency, condition string, f *field, column int,
	averages ...*average.Average) {
	sites := averages[0].Sites
	noted := head.OpenSkull(s.Notes)
	for k, p := range pairs {
		a := &rows[k]
		a.Condition, a.At, a.Left, a.Right, a.Noted = condition, at, p.Left.Title, p.Right.Title, noted
		for _, avg := range averages {
			for _, i := range slices.Concat(p.Left.Rows, p.Right.Rows) {
				a.Repaired = a.Repaired || repaired(avg, sites[i])
			}
		}
		a.Cap = s.capEffect(*a, f, p, column)
	}
}

// repaired reports whether a site was, in an average of one person: in a grand
// average it was measured in most people.
func repaired(avg *average.Average, site string) bool {
	n, err := layout.Parse(site)
	return err == nil && avg.Info.Kind != average.GrandAverage && slices.Contains(avg.Info.Repaired, string(n))
}
