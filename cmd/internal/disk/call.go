package disk

import "sync/atomic"

// An Op is a kind of request to the system.
type Op string

// The requests that an observer is asked about.
const (
	Opening  Op = "open"   // a file or a folder that exists
	Making   Op = "make"   // a new file
	Folding  Op = "mkdir"  // a new folder
	Writing  Op = "write"  // into a file that was made
	Syncing  Op = "sync"   // a file, or the names in a folder
	Renaming Op = "rename" // a file or a folder
	Removing Op = "remove" // a file or an empty folder
)

// A Call is one request to the system.
type Call struct {
	Op     Op
	Path   string
	To     string // the new name, when renaming
	Data   []byte // what is to be written; only valid during the call
	Offset int64  // where in the file that is
}

// observer is asked before every request.
var observer atomic.Pointer[func(Call) error]

// Observe has f asked before every request that this package makes of the
// system, until restore: what it returns is what the request returns, as if the
// system had failed. It is for tests of faults, and may be called from several
// goroutines at once.
func Observe(f func(Call) error) (restore func()) {
	old := observer.Swap(&f)
	return func() { observer.Store(old) }
}

// ask puts a request to the observer.
func ask(c Call) error {
	if f := observer.Load(); f != nil {
		return (*f)(c)
	}
	return nil
}
