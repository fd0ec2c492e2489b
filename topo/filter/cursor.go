package filter

import (
	"errors"
	"fmt"

	"calotte/topo/recording"
)

// A cursor checks that blocks follow one another without a gap within segments.
type cursor struct {
	lengths       []int
	segment, next int // sample of the segment
	signals       int
}

func (c *cursor) follow(b recording.Block) error {
	if b.Segment < 0 || b.Segment >= len(c.lengths) {
		return fmt.Errorf("block of segment %d: there are %d, counted from 0", b.Segment, len(c.lengths))
	}
	if len(b.Samples) == 0 {
		return errors.New("block without signals: expected at least one")
	}
	if c.signals == 0 {
		c.signals = len(b.Samples)
	}
	if len(b.Samples) != c.signals {
		return fmt.Errorf("block of %d signals after blocks of %d", len(b.Samples), c.signals)
	}
	n := len(b.Samples[0])
	for _, row := range b.Samples {
		if len(row) != n {
			return fmt.Errorf("block of signals with %d and %d samples", n, len(row))
		}
	}
	if b.Segment == c.segment+1 && c.next == c.lengths[c.segment] {
		c.segment, c.next = b.Segment, 0
	}
	if b.Segment != c.segment || b.First != c.next || c.next+n > c.lengths[c.segment] {
		return fmt.Errorf("block of samples %d to %d of segment %d: expected sample %d of segment %d, "+
			"which holds %d",
			b.First, b.First+n, b.Segment, c.next, c.segment, c.lengths[c.segment])
	}
	c.next += n
	return nil
}

// finished checks that nothing is missing after the last block.
func (c *cursor) finished() error {
	if last := len(c.lengths) - 1; c.segment != last || c.next != c.lengths[last] {
		return fmt.Errorf("the blocks end with sample %d of segment %d: expected all %d samples of segment %d",
			c.next, c.segment, c.lengths[last], last)
	}
	return nil
}
