package epoch

import (
	"calotte/layout"
	"calotte/topo/erp/internal/matrix"
)

// Halves accumulate epochs in the order of time, odd and even ones apart. Both
// together are their average; the one against the other is the plus-minus
// average, in which every other epoch is turned upside down, so that what each
// evokes alike cancels and the noise of the average remains (H. Schimmel, "The
// (±) reference: accuracy of estimated mean components in average response
// studies", Science 157:92, 1967). The last of an odd number does not count
// there. Right minus left of pairs of rows is accumulated behind the rows. Make
// one with NewHalves.
type Halves struct {
	rows    int
	pairs   []layout.Pair
	halves  [2]*Accumulator
	n       int
	last    [][]float64 // the rows of the latest odd epoch
	dropped [][]float64 // sum of the rows that do not count, over recordings
	lost    int         // how many they are
}

// NewHalves returns empty halves for so many rows and samples, and for right
// minus left of pairs of rows; nil: none.
func NewHalves(rows, samples int, pairs []layout.Pair) *Halves {
	h := &Halves{rows: rows, pairs: pairs}
	for i := range h.halves {
		h.halves[i] = NewAccumulator(rows+len(pairs), samples)
	}
	return h
}

// N is how many epochs were added.
func (h *Halves) N() int { return h.n }

// Add takes the next epoch, row × sample. Another shape panics, as in
// [Accumulator.Add].
func (h *Halves) Add(rows [][]float64) {
	half := h.halves[(h.n-h.lost)%2]
	half.begin(rows, h.rows)
	for i, row := range rows {
		half.addRow(i, row)
	}
	for k, p := range h.pairs {
		half.addDifference(h.rows+k, rows[p.Right], rows[p.Left])
	}
	if (h.n-h.lost)%2 == 0 {
		if h.last == nil {
			h.last = matrix.New(len(rows), len(rows[0]))
		}
		for i, row := range rows {
			copy(h.last[i], row)
		}
	}
	h.n++
}

// Merge adds another recording's. The signs of the plus-minus average alternate
// within each: the last of an odd number is dropped from each.
func (h *Halves) Merge(o *Halves) error {
	h.drop()
	o.drop()
	for i := range h.halves {
		if err := h.halves[i].Merge(o.halves[i]); err != nil {
			return err
		}
	}
	if o.dropped != nil && h.dropped == nil {
		h.dropped = matrix.New(len(o.dropped), len(o.dropped[0]))
	}
	for i, row := range o.dropped {
		for t, x := range row {
			h.dropped[i][t] += x
		}
	}
	h.lost += o.lost
	h.n += o.n
	return nil
}

// drop takes the last of an odd number out of the plus-minus average.
func (h *Halves) drop() {
	if (h.n-h.lost)%2 == 0 {
		return
	}
	if h.dropped == nil {
		h.dropped = matrix.New(len(h.last), len(h.last[0]))
	}
	for i, row := range h.last {
		for t, x := range row {
			h.dropped[i][t] += x
		}
	}
	h.lost++
}

// Whole is the average of all epochs: rows, then right minus left.
func (h *Halves) Whole() *Accumulator {
	whole := NewAccumulator(h.halves[0].rows, h.halves[0].samples)
	for _, half := range h.halves {
		// Accumulators of one shape always merge.
		if err := whole.Merge(half); err != nil {
			panic("epoch: " + err.Error())
		}
	}
	return whole
}

// PlusMinus returns the plus-minus average of the rows, row × sample, nil of
// fewer than two epochs. Its size estimates the noise that is left in the
// average of as many.
func (h *Halves) PlusMinus() [][]float64 {
	h.drop()
	n := h.n - h.lost
	if n == 0 {
		return nil
	}
	odd, even := h.halves[0], h.halves[1]
	out := matrix.New(h.rows, odd.samples)
	for i, row := range out {
		for t := range row {
			k := i*odd.samples + t
			sum := float64(odd.n)*odd.mean[k] - float64(even.n)*even.mean[k]
			if h.dropped != nil {
				sum -= h.dropped[i][t]
			}
			row[t] = sum / float64(n)
		}
	}
	return out
}
