// Package hostile is for tests of what reads files: it bounds what an input may
// cost, and makes JSON that is wrong in one place and right elsewhere. It lies
// at the bottom of the house so that the tests of every room can use it; the
// program does not.
package hostile

import (
	"runtime/metrics"
	"testing"
	"time"
)

// What an input may cost: readers keep little, and take a moment. Both are far
// above what any does, so that a busy machine fails no test, and far below what
// hurts.
const (
	mostTime    = 5 * time.Second
	mostAtLeast = 64 << 20 // bytes, for whatever input
	mostEach    = 1000     // bytes, for each of the input
)

// Budget begins work on an input of so many bytes. The function that it returns
// ends it, and fails the test if it took more time than any may need, or
// allocated more memory than the size warrants:
//
//	defer hostile.Budget(t, len(data))()
func Budget(t testing.TB, size int) (end func()) {
	before, begun := allocated(), time.Now()
	return func() {
		t.Helper()
		if took := time.Since(begun); took > mostTime {
			t.Errorf("%d bytes took %v, at most %v are allowed", size, took, mostTime)
		}
		if got, most := allocated()-before, uint64(mostAtLeast+mostEach*size); got > most {
			t.Errorf("%d bytes made it allocate %d bytes, at most %d are allowed", size, got, most)
		}
	}
}

// allocated is how many bytes the program has asked for since it began.
func allocated() uint64 {
	sample := []metrics.Sample{{Name: "/gc/heap/allocs:bytes"}}
	metrics.Read(sample)
	return sample[0].Value.Uint64()
}
