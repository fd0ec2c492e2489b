package likeness

import (
	"io"
	"iter"
	"math"

	"calotte/topo/recording/epochs"
)

// arrays compares epochs, which are kept in 32 bits a number.
func (c *comparison) arrays(old, again io.ReaderAt, oldSize, againSize int64) error {
	left, err := epochs.NewReader(io.NewSectionReader(old, 0, oldSize))
	if err != nil {
		return differs("it is damaged: %v", err)
	}
	right, err := epochs.NewReader(io.NewSectionReader(again, 0, againSize))
	if err != nil {
		return err
	}
	if left.Shape != right.Shape {
		return differs("it holds %v (epoch × site × sample), and now %v", left.Shape, right.Shape)
	}
	next, stop := iter.Pull2(left.All())
	defer stop()
	most, apart, beyond := 0., 0., 0.
	for sites, err := range right.All() {
		if err != nil {
			return err
		}
		before, err, ok := next()
		if err != nil || !ok {
			return differs("it is damaged: %v", err)
		}
		for s, row := range sites {
			for i, v := range row {
				d := math.Abs(v - before[s][i])
				if math.IsNaN(d) {
					return differs("it holds a number that is none")
				}
				most, apart = max(most, math.Abs(v)), max(apart, d)
				if d > math.Abs(v)*oneStep32 {
					beyond = max(beyond, d)
				}
			}
		}
	}
	if beyond > tolerance*most+nothing {
		return differs("numbers differ by up to %.3g, where the largest is %.3g", beyond, most)
	}
	if most > nothing {
		c.numbers = max(c.numbers, apart/most)
	}
	return nil
}

// oneStep32 is a step of the last of 24 bits, as a share of a number.
const oneStep32 = 1.0 / (1 << 23)
