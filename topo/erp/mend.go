package erp

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"calotte/layout"
	"calotte/topo"
	"calotte/topo/erp/internal/list"
	"calotte/topo/erp/internal/words"
)

// looked is how many electrodes of an epoch are looked at, or twice as many as
// may be mended: those that swing most, since one that departs unseen among
// small ones does no harm.
const looked = 8

// fewestToDepart is how many sites must be left beside those that are looked
// at.
const fewestToDepart = 8

// leftOver is what share of an electrode's swing the others must leave
// unexplained for it to be mended. The choice is ours.
const leftOver = 0.5

// mend notes for each epoch the electrodes that depart in it, to be repaired in
// it alone.
func (s *session) mend(ctx context.Context) error {
	for _, pl := range s.plans {
		found := map[int][]layout.Name{} // by trial
		d, err := newDeparting(pl, s.pipeline.Repair)
		if err != nil {
			return named(pl.Input, fmt.Errorf("repair: %w", err))
		}
		err = s.each(ctx, pl, func(e excerpt) error {
			sites, err := pl.chain.clean(e)
			if err != nil {
				return err
			}
			found[e.trial], err = d.in(sites, e.bad)
			return err
		})
		if err != nil {
			return err
		}
		for i := range pl.onsets {
			o := &pl.onsets[i]
			if len(found[o.trial]) > 0 {
				o.bad = list.AppendNew(slices.Clone(o.bad), found[o.trial]...)
			}
			pl.trials[o.trial].Mended = found[o.trial]
		}
		pl.cautions = append(pl.cautions, d.cautions(found)...)
	}
	return nil
}

// A departing looks for electrodes that depart from what the others predict.
type departing struct {
	sites  []layout.Site // of the good ones
	rows   []int         // theirs among all
	most   int           // electrodes that may be mended in an epoch
	beyond int           // epochs in which more depart
	spline *topo.Spline
}

func newDeparting(pl *plan, r Repair) (*departing, error) {
	d := &departing{most: int(r.Each*float64(len(pl.montage.Sites)) + 1e-9)}
	names := pl.montage.Names[:len(pl.montage.Sites)]
	if d.most == 0 {
		return nil, fmt.Errorf("%g %% of %d sites is less than one electrode an epoch: give a larger share",
			100*r.Each, len(names))
	}
	placed, err := layout.Place(r.Surface, names)
	if err != nil {
		return nil, err
	}
	for i, site := range layout.Sites(placed) {
		if !pl.chain.repaired[i] {
			d.sites, d.rows = append(d.sites, site), append(d.rows, i)
		}
	}
	if len(d.sites) < fewestToDepart+max(looked, 2*d.most) {
		return nil, fmt.Errorf("%d sites are too few to tell in which epochs one departs: expected %d or more",
			len(d.sites), fewestToDepart+max(looked, 2*d.most))
	}
	d.spline, err = topo.New(d.sites, topo.Options{Radius: anyRadius})
	return d, err
}

// in are the electrodes that depart in an epoch, site × sample; none where they
// are more than may be mended, since then nothing says which are right. Those
// that are mended anyway are bad.
func (d *departing) in(samples [][]float64, bad []layout.Name) ([]layout.Name, error) {
	maps, of := d.maps(samples)
	c, err := d.spline.Solve(maps)
	if err != nil {
		return nil, err
	}
	residuals, err := d.spline.LeaveOneOut(c)
	if err != nil {
		return nil, err
	}
	var suspects, columns []int
	for column, i := range of {
		if math.Abs(residuals.At(i, column)) > leftOver*math.Abs(maps.At(i, column)) {
			suspects, columns = append(suspects, i), append(columns, column)
		}
	}
	var names []layout.Name
	for k, i := range suspects {
		name := layout.Name(d.sites[i].Name)
		departs, err := d.departs(maps, suspects, i, columns[k])
		if err != nil {
			return nil, err
		}
		if departs && !slices.Contains(bad, name) {
			names = append(names, name)
		}
	}
	if len(names) > d.most {
		d.beyond++
		return nil, nil
	}
	return names, nil
}

// departs reports whether a suspect departs, at its column of the maps, from
// what the sites predict that are not suspected: two that are bad at once would
// hide each other.
func (d *departing) departs(maps *mat.Dense, suspects []int, one, column int) (bool, error) {
	var rows []int
	for i := range d.sites {
		if i == one || !slices.Contains(suspects, i) {
			rows = append(rows, i)
		}
	}
	spline, err := topo.New(list.Pick(d.sites, rows), topo.Options{Radius: anyRadius})
	if err != nil {
		return false, err
	}
	_, columns := maps.Dims()
	values := mat.NewDense(len(rows), columns, nil)
	for k, i := range rows {
		values.SetRow(k, maps.RawRowView(i))
	}
	c, err := spline.Solve(values)
	if err != nil {
		return false, err
	}
	departures, err := spline.Departures(values, c)
	return slices.ContainsFunc(departures, func(x topo.Departure) bool {
		return rows[x.Site] == one && x.Column == column &&
			math.Abs(x.Residual) > leftOver*math.Abs(maps.At(one, column))
	}), err
}

// cautions tell of epochs in which too many depart, and of electrodes that are
// bad throughout.
func (d *departing) cautions(found map[int][]layout.Name) []string {
	var texts []string
	if d.beyond > 0 {
		texts = append(texts, fmt.Sprintf("more than %s depart in %s; left as they are",
			words.Number(d.most, "electrode"), words.Number(d.beyond, "epoch")))
	}
	times := map[layout.Name]int{}
	for _, names := range found {
		for _, n := range names {
			times[n]++
		}
	}
	for _, n := range slices.Sorted(maps.Keys(times)) {
		if 2*times[n] > len(found) && times[n] > 2 {
			texts = append(texts, fmt.Sprintf("%s departs in %d of %s: repair it throughout", n, times[n],
				words.Number(len(found), "epoch")))
		}
	}
	return texts
}

// maps are what changes between the lowest and the highest sample of the sites
// that swing most, one a column, and which site each is of.
func (d *departing) maps(samples [][]float64) (*mat.Dense, []int) {
	type swing struct {
		site, low, high int
		size            float64
	}
	var swings []swing
	for k, i := range d.rows {
		s := swing{site: k}
		for t, x := range samples[i] {
			if x < samples[i][s.low] {
				s.low = t
			}
			if x > samples[i][s.high] {
				s.high = t
			}
		}
		s.size = samples[i][s.high] - samples[i][s.low]
		swings = append(swings, s)
	}
	slices.SortStableFunc(swings, func(a, b swing) int { return cmp.Compare(b.size, a.size) })
	swings = swings[:min(max(looked, 2*d.most), len(swings))]
	maps, of := mat.NewDense(len(d.rows), len(swings), nil), make([]int, len(swings))
	for column, s := range swings {
		of[column] = s.site
		for k, i := range d.rows {
			maps.Set(k, column, samples[i][s.high]-samples[i][s.low])
		}
	}
	return maps, of
}
