package disk

import (
	"os"
	"path/filepath"
	"slices"
	"testing"
)

// A file with an asterisk in its name is that file, not its neighbours.
func TestExpand(t *testing.T) {
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	for _, name := range []string{"a1.edf", "a2.edf", "a*.edf", "b1.edf"} {
		if err := os.WriteFile(in(name), nil, 0o666); err != nil {
			t.Skip("no such names here")
		}
	}
	for _, c := range []struct{ args, want []string }{
		{[]string{in("a*.edf")}, []string{in("a*.edf")}},
		{[]string{in("b*.edf"), in("a1.edf")}, []string{in("b1.edf"), in("a1.edf")}},
		{[]string{in("c*.edf"), "--at=*"}, []string{in("c*.edf"), "--at=*"}},
		{[]string{in("?1.edf"), in("[*")}, []string{in("?1.edf"), in("[*")}},
	} {
		if got := Expand(c.args); !slices.Equal(got, c.want) {
			t.Errorf("%v became %v, want %v", c.args, got, c.want)
		}
	}
}
