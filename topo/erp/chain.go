package erp

import (
	"fmt"
	"math"
	"slices"

	"calotte/layout"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/eye"
	"calotte/topo/erp/internal/list"
	"calotte/topo/erp/internal/matrix"
	"calotte/topo/erp/montage"
)

// A chain is what happens to each epoch between cutting and averaging, prepared
// for one recording.
type chain struct {
	montage  *montage.Montage
	gains    []float64 // to µV, a signal
	unmix    *remover  // nil: no component is taken out
	eyes     *eyes
	blinks   *eye.Coefficients // nil: blinks stay
	repair   []layout.Name     // in every epoch
	repaired []bool            // a site
	patches  func(repair []layout.Name) ([]patch, error)

	window    epoch.Window
	baseline  epoch.Window // about the event; zero: none
	reference []int        // sites and others whose mean becomes zero; none: as recorded
	pairs     []layout.Pair

	// Memory that each epoch reuses. It is taken for the first one, so that
	// a window far longer than the recording costs nothing but an error.
	common []float64   // the reference
	mixed  [][]float64 // sites and others, where they are sums of signals
	sites  [][]float64
	swings []float64 // peak-to-peak amplitude of each site of the latest epoch
}

func (p *Pipeline) newChain(pl *plan) (*chain, error) {
	m := pl.montage
	c := &chain{montage: m, gains: m.Gains, eyes: pl.eyes, window: pl.window, baseline: pl.baseline}
	if pl.eyes != nil {
		c.gains = append(slices.Clone(m.Gains), pl.eyes.gains...)
	}
	c.patches = remembered(func(repair []layout.Name) ([]patch, error) {
		return newPatches(m, repair,
			p.Repair.Surface)
	})
	var err error
	if c.unmix, err = newRemover(p.Unmix, m); err != nil {
		return nil, err
	}
	if err := c.setRepaired(repairedSites(pl.repair)); err != nil {
		return nil, err
	}
	if c.reference, err = p.Reference.Rows(m); err != nil {
		return nil, fmt.Errorf("reference: %w", err)
	}
	c.pairs = layout.Pairs(m.Sites)
	return c, nil
}

// setRepaired sets the sites that are repaired in every epoch.
func (c *chain) setRepaired(repair []layout.Name) error {
	if _, err := c.patches(repair); err != nil {
		return fmt.Errorf("repair: %w", err)
	}
	c.repair, c.repaired = repair, make([]bool, len(c.montage.Sites))
	for i, n := range c.montage.Names {
		c.repaired[i] = slices.Contains(repair, n)
	}
	return nil
}

// remembered keeps the patches of each set of sites.
func remembered(patches func([]layout.Name) ([]patch, error)) func([]layout.Name) ([]patch, error) {
	known := map[string][]patch{}
	return func(repair []layout.Name) ([]patch, error) {
		key := list.Join(repair)
		if found, ok := known[key]; ok {
			return found, nil
		}
		made, err := patches(repair)
		if err == nil {
			known[key] = made
		}
		return made, err
	}
}

// potentials brings an epoch's signals to µV, in place, and returns its sites
// and others without the components that are taken out, row × sample.
func (c *chain) potentials(e excerpt) [][]float64 {
	for i, row := range e.samples {
		if g := c.gains[i]; g != 1 {
			for t := range row {
				row[t] *= g
			}
		}
	}
	if c.montage.Mix != nil && (c.mixed == nil || len(c.mixed[0]) != len(e.samples[0])) {
		c.mixed = matrix.New(len(c.montage.Mix), len(e.samples[0]))
	}
	rows := c.montage.Apply(c.mixed, e.samples)
	c.unmix.apply(rows)
	return rows
}

// clean takes an epoch through the chain, in place, and returns its sites, site
// × sample of the window in µV, valid until the next call.
func (c *chain) clean(e excerpt) ([][]float64, error) {
	rows := c.potentials(e)
	if c.blinks != nil {
		c.blinks.Correct(rows, c.eyes.channels(e.samples))
	}
	repair := c.repair
	if len(e.bad) > 0 {
		repair = list.AppendNew(slices.Clone(c.repair), e.bad...)
	}
	patches, err := c.patches(repair)
	if err != nil {
		return nil, fmt.Errorf("repair: %w", err)
	}
	for _, p := range patches {
		p.apply(rows)
	}
	c.findReference(rows)
	first := e.before + e.lag + c.baseline.First - c.window.First
	c.sites = c.sites[:0]
	c.swings = c.swings[:0]
	from, to := e.before, e.before+c.window.Len()
	for _, row := range rows[:len(c.repaired)] {
		level := c.level(row, first)
		settle(row[:from], c.common[:from], level)
		c.swings = append(c.swings, settle(row[from:to], c.common[from:to], level))
		settle(row[to:], c.common[to:], level)
		c.sites = append(c.sites, row[from:to])
	}
	return c.sites, nil
}

// findReference writes the mean of the reference's rows to common.
func (c *chain) findReference(rows [][]float64) {
	if n := len(rows[0]); len(c.common) != n {
		c.common = make([]float64, n)
	}
	if len(c.reference) == 0 {
		return // common stays zero
	}
	mean := c.common
	clear(mean)
	n := float64(len(c.reference))
	rest := c.reference
	for ; len(rest) >= 4; rest = rest[4:] { // four at once, since memory is what takes the time
		a, b := rows[rest[0]][:len(mean)], rows[rest[1]][:len(mean)]
		d, e := rows[rest[2]][:len(mean)], rows[rest[3]][:len(mean)]
		for t := range mean {
			mean[t] += (a[t] + b[t]) + (d[t] + e[t])
		}
	}
	for _, i := range rest {
		for t, x := range rows[i][:len(mean)] {
			mean[t] += x
		}
	}
	for t := range mean {
		mean[t] /= n
	}
}

// level is the mean over the baseline, which begins at a sample, against the
// reference.
func (c *chain) level(row []float64, first int) float64 {
	if c.baseline.Rate == 0 {
		return 0
	}
	n := c.baseline.Len()
	sum := 0.0
	common := c.common[first:][:n]
	for t, x := range row[first:][:n] {
		sum += x - common[t]
	}
	return sum / float64(n)
}

// settle subtracts the reference and the baseline's level, and returns the
// peak-to-peak amplitude of what is left. It does all in one pass, since the
// passes over the samples are what takes the time.
func settle(row, common []float64, level float64) (swing float64) {
	if len(row) == 0 {
		return 0
	}
	common = common[:len(row)]
	lowest, highest := math.Inf(1), math.Inf(-1)
	for t, x := range row {
		x -= common[t] + level
		row[t] = x
		if x < lowest {
			lowest = x
		}
		if x > highest {
			highest = x
		}
	}
	return highest - lowest
}
