package erp

import "fmt"

// A chain is what happens to each epoch between cutting and averaging, prepared
// for one montage.
type chain struct {
	gains       []float64 // to µV, a signal
	patches     []patch
	repaired    []bool // a site
	reference   []int  // signals whose mean becomes zero; none: as recorded
	from, to    int    // samples of the baseline; equal: none
	limit       float64
	right, left []int // sites of the mirror pairs

	// Memory that each epoch reuses. It is taken for the first one, so that a
	// window far longer than the recording costs nothing but an error.
	common []float64   // the reference
	pairs  [][]float64 // right minus left
	trace  [][]float64 // sites, then pairs
}

func (p *Pipeline) newChain(m *Montage, w Window) (*chain, error) {
	c := &chain{gains: m.Gains, limit: float64(p.Reject)}
	if !(c.limit >= 0) {
		return nil, fmt.Errorf("rejection above %v: expected a positive amplitude such as 150uV", p.Reject)
	}
	var err error
	if c.patches, err = newPatches(m, p.Repair, p.Surface); err != nil {
		return nil, fmt.Errorf("repair: %w", err)
	}
	c.repaired = make([]bool, len(m.Sites))
	for _, p := range c.patches {
		c.repaired[p.site] = true
	}
	if c.reference, err = p.Reference.signals(m); err != nil {
		return nil, fmt.Errorf("reference: %w", err)
	}
	if p.Baseline != nil {
		if c.from, c.to, err = w.within(*p.Baseline); err != nil {
			return nil, fmt.Errorf("baseline: %w", err)
		}
	}
	_, c.right, c.left = mirrors(m.Sites)
	return c, nil
}

// clean takes an epoch, signal × sample, through the chain in place. It returns
// the sites followed by right minus left of the mirror pairs, valid until the
// next call, and whether the epoch is kept.
func (c *chain) clean(samples [][]float64) (trace [][]float64, kept bool) {
	if c.common == nil {
		c.common = make([]float64, len(samples[0]))
		c.pairs = newTable(len(c.right), len(samples[0]))
	}
	for i, row := range samples {
		if g := c.gains[i]; g != 1 {
			for t := range row {
				row[t] *= g
			}
		}
	}
	for _, p := range c.patches {
		p.apply(samples)
	}
	c.findReference(samples)
	sites := samples[:len(c.repaired)]
	for i, row := range sites {
		swing := c.settle(row)
		if c.limit > 0 && swing > c.limit && !c.repaired[i] {
			return nil, false
		}
	}
	differences(c.pairs, sites, c.right, c.left)
	c.trace = append(append(c.trace[:0], sites...), c.pairs...)
	return c.trace, true
}

// findReference writes the mean of the reference signals to common.
func (c *chain) findReference(samples [][]float64) {
	if len(c.reference) == 0 {
		return // common stays zero
	}
	mean := c.common
	clear(mean)
	for _, i := range c.reference {
		for t, x := range samples[i][:len(mean)] {
			mean[t] += x
		}
	}
	n := float64(len(c.reference))
	for t := range mean {
		mean[t] /= n
	}
}

// settle subtracts the reference and the baseline from one site and returns
// the site's peak-to-peak amplitude. It does all in one pass, since the passes
// over the samples are what takes the time.
func (c *chain) settle(row []float64) (swing float64) {
	common := c.common[:len(row)]
	baseline := 0.0
	for t := c.from; t < c.to; t++ {
		baseline += row[t] - common[t]
	}
	if c.to > c.from {
		baseline /= float64(c.to - c.from)
	}
	first := row[0] - (common[0] + baseline)
	lowest, highest := first, first
	for t, x := range row {
		x -= common[t] + baseline
		row[t] = x
		if x < lowest {
			lowest = x
		} else if x > highest {
			highest = x
		}
	}
	return highest - lowest
}
