package fields

import (
	"fmt"
	"slices"

	"calotte/topo/erp/average"
)

// oneReference refuses averages against different references. One that nobody
// told may be the same.
func (f *Fields) oneReference() error {
	first := f.firstReferenced()
	for i, avg := range f.Averages {
		if r, other := f.Averages[first].Info.Reference, avg.Info.Reference; other != "" && other != r {
			return fmt.Errorf("%s and %s have different references, %q and %q: bring them to one "+
				"before you "+
				"compare them",
				f.Paths[first], f.Paths[i], r, other)
		}
	}
	return nil
}

// firstReferenced is the first average whose reference is known, or the first.
func (f *Fields) firstReferenced() int {
	known := func(a *average.Average) bool { return a.Info.Reference != "" }
	return max(0, slices.IndexFunc(f.Averages, known))
}

// Reference is that of all averages in which it is known.
func (f *Fields) Reference() string { return f.Averages[f.firstReferenced()].Info.Reference }
