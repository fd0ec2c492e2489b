package contrast

import (
	"errors"
	"fmt"
	"slices"

	"calotte/layout"
	"calotte/topo/measure"
)

// A SidePair is two sites that mirror each other, or the sites of a pool and
// their mirror images in the same order.
type SidePair struct{ Left, Right measure.Place }

// of is the left and the right of values at the sites.
func (p SidePair) of(values []float64) (left, right float64) {
	mean := func(rows []int) float64 {
		sum := 0.
		for _, i := range rows {
			sum += values[i]
		}
		return sum / float64(len(rows))
	}
	return mean(p.Left.Rows), mean(p.Right.Rows)
}

// Reading is right minus left at sites.
func (p SidePair) Reading(sites []layout.Site) Reading {
	var r Reading
	share := 1 / float64(len(p.Left.Rows))
	for k, i := range p.Left.Rows {
		r.Places = append(r.Places, sites[i].Position, sites[p.Right.Rows[k]].Position)
		r.Weights = append(r.Weights, -share, share)
	}
	return r
}

// A RepeatedError says that both sites of a pair are asked for, which are one
// question.
type RepeatedError struct{ Site layout.Name }

func (e *RepeatedError) Error() string {
	return fmt.Sprintf("the pair of %s is asked for twice: name one side of each", e.Site)
}

// Pairs are those of some sites and pools that are asked for, or all. That a
// site is not there, has no mirror image among them, or is asked for twice is
// an error, the last of type *[RepeatedError], and so is a pool of both sides.
func (s Sides) Pairs(sites []string) ([]SidePair, error) {
	mirror := s.Mirror
	if mirror == nil {
		mirror = layout.Pairs
	}
	all := mirror(sites)
	if len(all) == 0 {
		return nil, errors.New("no two of its sites are mirrored: expected pairs such as P7 and P8")
	}
	chosen, err := s.chosen(sites, all)
	if err != nil {
		return nil, err
	}
	var out []SidePair
	for _, p := range chosen {
		out = append(out, SidePair{measure.Place{Title: sites[p.Left], Rows: []int{p.Left}},
			measure.Place{Title: sites[p.Right], Rows: []int{p.Right}}})
	}
	for _, pool := range s.Pools {
		p, err := pooled(pool, sites, all)
		if err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, nil
}

// chosen are the pairs that are asked for by one of their sites.
func (s Sides) chosen(sites []string, all []layout.Pair) ([]layout.Pair, error) {
	if len(s.Of)+len(s.Pools) == 0 {
		return all, nil
	}
	var out []layout.Pair
	for _, name := range s.Of {
		i, k, err := pairOf(name, sites, all)
		if err != nil {
			return nil, err
		}
		if k < 0 {
			return nil, fmt.Errorf("%s has no mirrored site among them: expected one side of a pair such "+
				"as P7 and P8",
				sites[i])
		}
		if slices.Contains(out, all[k]) {
			return nil, &RepeatedError{name}
		}
		out = append(out, all[k])
	}
	return out, nil
}

// pairOf is where a site is among the sites, and its pair among all, −1 where
// it has none.
func pairOf(name layout.Name, sites []string, all []layout.Pair) (site, pair int, err error) {
	site = slices.Index(sites, string(name)) // it may be a label
	if site < 0 {
		if site, err = layout.Row(sites, name); err != nil {
			return site, -1, err
		}
	}
	return site, slices.IndexFunc(all, func(p layout.Pair) bool { return p.Left == site || p.Right == site }), nil
}

// pooled is a pool of sites on one side against the mirrored ones.
func pooled(pool measure.Pool, sites []string, all []layout.Pair) (SidePair, error) {
	out := SidePair{measure.Place{Title: pool.Name + " left"}, measure.Place{Title: pool.Name + " right"}}
	lefts := 0
	for _, name := range pool.Sites {
		i, k, err := pairOf(name, sites, all)
		if err != nil {
			return out, fmt.Errorf("pool %s: %w", pool.Name, err)
		}
		if k < 0 {
			return out, fmt.Errorf("pool %s: %s has no mirrored site among them: name sites of one side, "+
				"such as P7 and "+
				"PO7", pool.Name, sites[i])
		}
		if all[k].Left == i {
			lefts++
		}
		out.Left.Rows = append(out.Left.Rows, all[k].Left)
		out.Right.Rows = append(out.Right.Rows, all[k].Right)
	}
	if lefts != 0 && lefts != len(pool.Sites) {
		return out, fmt.Errorf("pool %s: its sites lie on both sides: name those of one, such as P7 and PO7",
			pool.Name)
	}
	return out, nil
}
