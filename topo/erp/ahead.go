package erp

import "iter"

// readAhead is how many epochs may be cut while one is averaged: enough to keep
// two CPUs busy, and at 64 sites and 500 samples a megabyte.
const readAhead = 4

// ahead runs a sequence in a goroutine of its own, up to depth items before the
// loop body. Order and values are those of the sequence. The goroutine has
// ended when the loop does.
func ahead[T any](seq iter.Seq2[T, error], depth int) iter.Seq2[T, error] {
	type item struct {
		value T
		err   error
	}
	return func(yield func(T, error) bool) {
		items, stop := make(chan item, depth), make(chan struct{})
		defer func() {
			close(stop)
			for range items { // until the goroutine closes it
			}
		}()
		go func() {
			defer close(items)
			for value, err := range seq {
				select {
				case items <- item{value, err}:
				case <-stop:
					return
				}
			}
		}()
		for i := range items {
			if !yield(i.value, i.err) {
				return
			}
		}
	}
}
