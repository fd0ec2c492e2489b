package trigger

import (
	"iter"

	"calotte/topo/recording"
)

// walk calls step for each sample of a signal that begins a segment (first) or
// differs from the one before it, with its time.
func walk(r *recording.Recording, blocks iter.Seq2[recording.Block, error], signal int,
	step func(x float64, first bool, time float64)) error {
	before := 0.0
	for b, err := range blocks {
		if err != nil {
			return err
		}
		for i, x := range b.Samples[0] {
			first := b.First+i == 0
			if first || x != before {
				step(x, first, r.Time(b.Segment, b.First+i, signal))
				before = x
			}
		}
	}
	return nil
}
