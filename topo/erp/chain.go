package erp

import (
	"fmt"
	"slices"
)

// A chain is what happens to each epoch between cutting and averaging, prepared
// for one montage.
type chain struct {
	gains       []float64 // to µV, a signal
	bad         []int     // sites to repair
	weights     [][]float64
	reference   []int // rows whose mean becomes zero; nil: as recorded
	from, to    int   // samples of the baseline; equal: none
	limit       float64
	sites       int
	right, left []int
	pairs       [][]float64
	trace       [][]float64 // sites, then pairs
	common      []float64   // mean of the reference, reused
}

func (p *Pipeline) newChain(m *Montage, w Window) (*chain, error) {
	c := &chain{
		gains: m.Gains, limit: float64(p.Reject), sites: len(m.Sites),
		common: make([]float64, w.Len()),
	}
	var err error
	if len(p.Repair) > 0 {
		if c.bad, err = m.find(p.Repair); err != nil {
			return nil, fmt.Errorf("repair: %w", err)
		}
		if slices.Max(c.bad) >= c.sites {
			return nil, fmt.Errorf("repair: %s: only scalp sites can be repaired", join(p.Repair))
		}
		if c.weights, err = repairWeights(m, p.Repair, p.Surface); err != nil {
			return nil, err
		}
	}
	switch {
	case p.Reference.average:
		if c.sites < 2 {
			return nil, fmt.Errorf("the average of one site is no reference")
		}
		for i := range m.Sites {
			c.reference = append(c.reference, i)
		}
	case len(p.Reference.sites) > 0:
		if c.reference, err = m.find(p.Reference.sites); err != nil {
			return nil, fmt.Errorf("reference: %w", err)
		}
	}
	if p.Baseline != nil {
		if c.from, c.to, err = w.within(*p.Baseline); err != nil {
			return nil, fmt.Errorf("baseline: %w", err)
		}
	}
	var names []string
	names, c.right, c.left = mirrors(m.Sites)
	c.pairs = newTable(len(names), w.Len())
	return c, nil
}

// clean takes an epoch, signal × sample, through the chain in place. It returns
// the sites followed by right minus left of the mirror pairs, valid until the
// next call, and whether the epoch is kept.
func (c *chain) clean(samples [][]float64) (trace [][]float64, kept bool) {
	for i, row := range samples {
		if g := c.gains[i]; g != 1 {
			for t := range row {
				row[t] *= g
			}
		}
	}
	c.repair(samples)
	c.rereference(samples)
	if c.to > c.from {
		for _, row := range samples[:c.sites] {
			subtractMean(row, row[c.from:c.to])
		}
	}
	if c.limit > 0 && c.exceeds(samples[:c.sites]) {
		return nil, false
	}
	differences(c.pairs, samples, c.right, c.left)
	c.trace = append(append(c.trace[:0], samples[:c.sites]...), c.pairs...)
	return c.trace, true
}

// repair replaces the bad sites by the spline of the good ones. Weights of bad
// sites are zero, so the order does not matter.
func (c *chain) repair(samples [][]float64) {
	for k, bad := range c.bad {
		row := samples[bad]
		clear(row)
		for i, w := range c.weights[k] {
			if w == 0 {
				continue
			}
			for t, x := range samples[i] {
				row[t] += w * x
			}
		}
	}
}

func (c *chain) rereference(samples [][]float64) {
	if c.reference == nil {
		return
	}
	mean := c.common
	clear(mean)
	for _, i := range c.reference {
		for t, x := range samples[i] {
			mean[t] += x
		}
	}
	share := 1 / float64(len(c.reference))
	for t := range mean {
		mean[t] *= share
	}
	for _, row := range samples[:c.sites] {
		for t := range row {
			row[t] -= mean[t]
		}
	}
}

func subtractMean(row, part []float64) {
	sum := 0.0
	for _, x := range part {
		sum += x
	}
	mean := sum / float64(len(part))
	for t := range row {
		row[t] -= mean
	}
}

// exceeds reports whether a site that was not repaired swings by more than the
// limit within the epoch.
func (c *chain) exceeds(sites [][]float64) bool {
	for i, row := range sites {
		if slices.Contains(c.bad, i) {
			continue
		}
		if slices.Max(row)-slices.Min(row) > c.limit {
			return true
		}
	}
	return false
}
