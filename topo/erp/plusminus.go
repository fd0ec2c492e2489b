package erp

import "fmt"

// A PlusMinus is the plus-minus average of epochs in the order of time: every
// other one is turned upside down, so that what each evokes alike cancels and the
// noise of the average remains (H. Schimmel, "The (±) reference: accuracy of
// estimated mean components in average response studies", Science 157:92, 1967). The
// last of an odd number does not count. Make one with NewPlusMinus.
type PlusMinus struct {
	n       int
	sum     [][]float64 // of whole pairs, first minus second
	pending [][]float64 // first of a pair
}

// NewPlusMinus returns an empty average of traces with the given number of rows and
// samples.
func NewPlusMinus(rows, samples int) *PlusMinus {
	return &PlusMinus{sum: newTable(rows, samples), pending: newTable(rows, samples)}
}

// Add takes the next trace, rows × samples. Another shape panics, as in
// [Accumulator.Add].
func (p *PlusMinus) Add(trace [][]float64) {
	if len(trace) != len(p.sum) {
		panic("erp: trace has the wrong number of rows")
	}
	first := p.n%2 == 0
	p.n++
	for i, row := range trace {
		if len(row) != len(p.sum[i]) {
			panic("erp: trace has the wrong number of samples")
		}
		if first {
			copy(p.pending[i], row)
			continue
		}
		for t, x := range row {
			p.sum[i][t] += p.pending[i][t] - x
		}
	}
}

// N is the number of traces that count, an even one.
func (p *PlusMinus) N() int { return p.n &^ 1 }

// Merge adds another recording's. The signs alternate within each: the last of an
// odd number is dropped from each.
func (p *PlusMinus) Merge(o *PlusMinus) error {
	if len(p.sum) != len(o.sum) || len(p.sum) > 0 && len(p.sum[0]) != len(o.sum[0]) {
		return fmt.Errorf("plus-minus averages of %d and %d rows, or of other lengths, cannot be merged", len(p.sum), len(o.sum))
	}
	p.n = p.N() + o.N()
	for i, row := range o.sum {
		for t, x := range row {
			p.sum[i][t] += x
		}
	}
	return nil
}

// Average returns the plus-minus average, rows × samples in µV, nil of fewer than
// two traces. Its size estimates the noise that is left in the average of as many.
func (p *PlusMinus) Average() [][]float64 {
	if p.N() == 0 {
		return nil
	}
	out := newTable(len(p.sum), len(p.sum[0]))
	for i, row := range p.sum {
		for t, x := range row {
			out[i][t] = x / float64(p.N())
		}
	}
	return out
}
