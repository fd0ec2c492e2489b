package erp

import (
	"fmt"
	"slices"

	"calotte/layout"
)

// A chain is what happens to each epoch between cutting and averaging, prepared
// for one recording.
type chain struct {
	montage  *Montage
	gains    []float64 // to µV, a signal
	eyes     *eyes
	blinks   *EyeCoefficients // nil: blinks stay
	repair   []layout.Name    // in every epoch
	repaired []bool           // a site
	patches  func(repair []layout.Name) ([]patch, error)

	window      Window
	baseline    Window // about the event; zero: none
	reference   []int  // sites and others whose mean becomes zero; none: as recorded
	right, left []int  // sites of the mirror pairs

	// Memory that each epoch reuses. It is taken for the first one, so that a
	// window far longer than the recording costs nothing but an error.
	common []float64   // the reference
	mixed  [][]float64 // sites and others, where they are sums of signals
	sites  [][]float64
	pairs  [][]float64 // right minus left
}

func (p *Pipeline) newChain(pl *plan) (*chain, error) {
	m := pl.montage
	c := &chain{montage: m, gains: m.Gains, eyes: pl.eyes, window: pl.window, baseline: pl.baseline}
	if pl.eyes != nil {
		c.gains = append(slices.Clone(m.Gains), pl.eyes.gains...)
	}
	c.patches = remembered(func(repair []layout.Name) ([]patch, error) { return newPatches(m, repair, p.Repair.Surface) })
	if err := c.mend(repairedSites(pl.repair)); err != nil {
		return nil, err
	}
	var err error
	if c.reference, err = p.Reference.signals(m); err != nil {
		return nil, fmt.Errorf("reference: %w", err)
	}
	_, c.right, c.left = mirrors(m.Sites)
	return c, nil
}

// mend sets the sites that are repaired in every epoch.
func (c *chain) mend(repair []layout.Name) error {
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
		key := join(repair)
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

// potentials brings an epoch's signals to µV, in place, and returns its sites and
// others, row × sample.
func (c *chain) potentials(e epoch) [][]float64 {
	for i, row := range e.samples {
		if g := c.gains[i]; g != 1 {
			for t := range row {
				row[t] *= g
			}
		}
	}
	if c.montage.Mix != nil && (c.mixed == nil || len(c.mixed[0]) != len(e.samples[0])) {
		c.mixed = newTable(len(c.montage.Mix), len(e.samples[0]))
	}
	return c.montage.mix(c.mixed, e.samples)
}

// clean takes an epoch through the chain, in place, and returns its sites, site ×
// sample of the window in µV, valid until the next call.
func (c *chain) clean(e epoch) ([][]float64, error) {
	rows := c.potentials(e)
	if c.blinks != nil {
		c.blinks.Correct(rows, c.eyes.channels(e.samples))
	}
	repair := c.repair
	if len(e.bad) > 0 {
		repair = appendNew(slices.Clone(c.repair), e.bad...)
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
	for _, row := range rows[:len(c.repaired)] {
		c.settle(row, first)
		c.sites = append(c.sites, row[e.before:][:c.window.Len()])
	}
	return c.sites, nil
}

// difference returns right minus left of the sites' mirror pairs, valid until the
// next call.
func (c *chain) difference(sites [][]float64) [][]float64 {
	if c.pairs == nil {
		c.pairs = newTable(len(c.right), c.window.Len())
	}
	differences(c.pairs, sites, c.right, c.left)
	return c.pairs
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
	for _, i := range c.reference {
		for t, x := range rows[i][:len(mean)] {
			mean[t] += x
		}
	}
	n := float64(len(c.reference))
	for t := range mean {
		mean[t] /= n
	}
}

// settle subtracts the reference and the baseline, which begins at a sample, from
// one site. It does both in one pass, since the passes over the samples are what
// takes the time.
func (c *chain) settle(row []float64, first int) {
	common := c.common[:len(row)]
	level := 0.0
	if c.baseline.Rate > 0 {
		n := c.baseline.Len()
		for t := first; t < first+n; t++ {
			level += row[t] - common[t]
		}
		level /= float64(n)
	}
	for t, x := range row {
		row[t] = x - (common[t] + level)
	}
}
