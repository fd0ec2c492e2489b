package array

import (
	"fmt"
	"iter"

	"calotte/topo/recording"
)

// Cut is epochs that were cut before.
type Cut struct {
	Epochs, Sites, Samples int

	array               *Array
	epoch, site, sample int // strides
	gain                float64
}

// Cut takes an array of three axes for epochs. The rate of the description has
// no part in it. Errors are those of [Array.Recording].
func (a *Array) Cut(d Description) (*Cut, error) {
	if len(a.Shape) != 3 {
		return nil, fmt.Errorf("an array of %d axes (%v): expected 3 of cut epochs: epochs, sites and samples",
			len(a.Shape), a)
	}
	names, err := a.sites(d)
	if err != nil {
		return nil, err
	}
	gain, err := recording.Microvolts(d.Unit)
	if err != nil {
		return nil, err
	}
	order, err := a.order(d.Order, len(names))
	if err != nil {
		return nil, err
	}
	e, s, t := order.at(Epochs), order.at(Sites), order.at(Samples)
	if _, ok := count([]int{a.Shape[s], a.Shape[t]}, mostOfEpoch); !ok {
		return nil, sayf(ErrOrder, "the array (%v) taken as %v has epochs of more than %d values: say "+
			"another order "+
			"of the axes", a, order, mostOfEpoch)
	}
	return &Cut{a.Shape[e], a.Shape[s], a.Shape[t], a, a.strides[e], a.strides[s], a.strides[t], gain}, nil
}

// mostOfEpoch bounds the values of an epoch: 345 sites with 24 s at 1 kHz.
const mostOfEpoch = 1 << 23

// All returns the epochs, site × sample in µV, which the next epoch overwrites.
// A value that is NaN or infinite is an error, which ends the sequence.
//
// Where the values of an epoch do not lie together, all epochs are read at
// once.
func (c *Cut) All() iter.Seq2[[][]float64, error] {
	return func(yield func([][]float64, error) bool) {
		epoch := make([][]float64, c.Sites)
		for i := range epoch {
			epoch[i] = make([]float64, c.Samples)
		}
		size := c.Sites * c.Samples
		apart := c.epoch != size
		values := make([]float64, size)
		if apart {
			values = make([]float64, size*c.Epochs)
		}
		for e := range c.Epochs {
			if e == 0 || !apart {
				if err := c.array.numbers.slab(values, e*size); err != nil {
					yield(nil, err)
					return
				}
			}
			own := values
			if apart {
				own = values[e*c.epoch:]
			}
			if err := c.arrange(epoch, own, e); err != nil {
				yield(nil, err)
				return
			}
			if !yield(epoch, nil) {
				return
			}
		}
	}
}

// arrange puts the values of an epoch, of which the first is given, in their
// places.
func (c *Cut) arrange(epoch [][]float64, values []float64, e int) error {
	for s, row := range epoch {
		for i := range row {
			row[i] = values[s*c.site+i*c.sample] * c.gain
			if x := row[i]; x-x != 0 {
				return fmt.Errorf("epoch %d, site %d, sample %d (counted from 1): %v; expected a "+
					"finite number",
					e+1, s+1, i+1, x)
			}
		}
	}
	return nil
}
