package contrast

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo"
	"calotte/topo/erp/average"
	"calotte/topo/inference"
	"calotte/topo/unit"
)

// Sides asks how the two sides of the head differ.
type Sides struct {
	Spline *topo.Spline  // through the sites of the averages, on the wearer's head
	Of     []layout.Name // one side of each pair; nil: all pairs
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

// A RepeatedError says that both sites of a pair are asked for, which are one
// question.
type RepeatedError struct{ Site layout.Name }

func (e *RepeatedError) Error() string {
	return fmt.Sprintf("the pair of %s is asked for twice: name one side of each", e.Site)
}

// Pairs are those of some sites that are asked for, or all. That a site is not
// there, has no mirror image among them, or is asked for twice is an error, the
// last of type *[RepeatedError].
func (s Sides) Pairs(sites []string) ([]layout.Pair, error) {
	mirror := s.Mirror
	if mirror == nil {
		mirror = layout.Pairs
	}
	all := mirror(sites)
	if len(all) == 0 {
		return nil, errors.New("no two of its sites are mirrored: expected pairs such as P7 and P8")
	}
	if len(s.Of) == 0 {
		return all, nil
	}
	var out []layout.Pair
	for _, name := range s.Of {
		i := slices.Index(sites, string(name)) // it may be a label
		if i < 0 {
			var err error
			if i, err = layout.Row(sites, name); err != nil {
				return nil, err
			}
		}
		k := slices.IndexFunc(all, func(p layout.Pair) bool { return p.Left == i || p.Right == i })
		if k < 0 {
			return nil, fmt.Errorf("%s has no mirrored site among them: expected one side of a pair such "+
				"as P7 and P8",
				name)
		}
		if slices.Contains(out, all[k]) {
			return nil, &RepeatedError{name}
		}
		out = append(out, all[k])
	}
	return out, nil
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
			a.First, a.Second = amplitudes.At(p.Left, column), amplitudes.At(p.Right, column)
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
func (s Sides) complete(rows []Asymmetry, pairs []layout.Pair, at unit.Latency, condition string, f *field, column int,
	averages ...*average.Average) {
	sites := averages[0].Sites
	noted := head.OpenSkull(s.Notes)
	for k, p := range pairs {
		a := &rows[k]
		a.Condition, a.At, a.Left, a.Right, a.Noted = condition, at, sites[p.Left], sites[p.Right], noted
		for _, avg := range averages {
			a.Repaired = a.Repaired || repaired(avg, a.Left) || repaired(avg, a.Right)
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
