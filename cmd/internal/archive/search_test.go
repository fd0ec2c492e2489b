package archive

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"calotte/topo/provenance"
)

// A file is found around the folder to begin with where that is asked for: not
// too deep, not in hidden folders, not by a link, and by its content alone.
func TestSearchAround(t *testing.T) {
	root := t.TempDir()
	write := func(content string, parts ...string) {
		path := filepath.Join(append([]string{root}, parts...)...)
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(content), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	write("", "grand", "table.tsv")
	write("it", "study", "results", "sub-01", "it.tsv")
	write("other", "study", "it.tsv")
	write("deep", "study", "results", "sub-01", "eeg", "deep.tsv")
	write("hidden", ".study", "hidden.tsv")
	if err := os.Symlink(filepath.Join(root, ".study"), filepath.Join(root, "link")); err != nil {
		t.Skip(err)
	}
	for _, c := range []struct {
		name  string
		wide  bool
		found string // below the root
	}{
		{"it.tsv", true, "study/results/sub-01/it.tsv"},
		{"it.tsv", false, ""},
		{"deep.tsv", true, ""},
		{"hidden.tsv", true, ""},
	} {
		s := newSearch(context.Background(), nil, nil)
		s.wide = c.wide
		content := c.name[:len(c.name)-len(".tsv")]
		path, same, err := s.locate(filepath.Join(root, "grand"), provenance.SourceOf(c.name, []byte(content)))
		if err != nil || same != (c.found != "") {
			t.Fatalf("%s: %q, %v, %v", c.name, path, same, err)
		}
		if in, err := filepath.Rel(root, path); same && (err != nil || filepath.ToSlash(in) != c.found) {
			t.Errorf("%s is found at %s, %v", c.name, path, err)
		}
	}
}
