package hostile

import (
	"io/fs"
	"testing"
)

// Seeds are the contents of the files that match some patterns, for a fuzzer to
// begin with. It fails the test where a pattern matches none.
func Seeds(f *testing.F, fsys fs.FS, patterns ...string) [][]byte {
	f.Helper()
	var all [][]byte
	for _, pattern := range patterns {
		names, err := fs.Glob(fsys, pattern)
		if err != nil || len(names) == 0 {
			f.Fatalf("no file matches %s (%v)", pattern, err)
		}
		for _, name := range names {
			b, err := fs.ReadFile(fsys, name)
			if err != nil {
				f.Fatal(err)
			}
			all = append(all, b)
		}
	}
	return all
}
