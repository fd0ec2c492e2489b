package parallel

import (
	"runtime"

	"golang.org/x/sync/errgroup"
)

// Each runs work on all panels, as many at a time as there are processors. The
// result does not depend on their order: each writes to its own place.
func Each(n int, work func(i int)) {
	var group errgroup.Group
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i := range n {
		group.Go(func() error {
			work(i)
			return nil
		})
	}
	group.Wait()
}
