package disk

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// within is a folder "in" beside a file "secret", which links in it lead to.
func within(t *testing.T) (dir string, in *Folder) {
	t.Helper()
	dir = t.TempDir()
	for _, d := range []string{"in/sub", "out"} {
		if err := os.MkdirAll(filepath.Join(dir, d), 0o777); err != nil {
			t.Fatal(err)
		}
	}
	for name, text := range map[string]string{"secret": "theirs", "out/file": "theirs", "in/own": "own",
		"in/sub/own": "own"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	for name, to := range map[string]string{
		"in/file": "../secret", "in/folder": "../out", "in/absolute": filepath.Join(dir, "out"),
		"in/chain":  "folder",
		"in/inside": "sub/own",
	} {
		if err := os.Symlink(to, filepath.Join(dir, name)); err != nil {
			t.Skip("no symbolic links here")
		}
	}
	in, err := OpenFolder(filepath.Join(dir, "in"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { in.Close() })
	return dir, in
}

// Nothing outside of a folder is reached through it, and the way out is named.
func TestFolderKeepsWithin(t *testing.T) {
	dir, in := within(t)
	for _, name := range []string{"file", "folder/file", "absolute/file", "chain/file", "../secret",
		"sub/../../secret",
		filepath.Join(dir, "secret")} {
		if b, err := in.ReadFile(name); err == nil {
			t.Errorf("%s: read %q", name, b)
		} else if !strings.Contains(err.Error(), "leads out of") ||
			!strings.Contains(err.Error(), filepath.Base(name)) {
			t.Errorf("%s: %v", name, err)
		}
		if _, _, err := in.Open(name); err == nil {
			t.Errorf("%s: opened", name)
		}
		if strings.Contains(name, "/") {
			if err := in.Remove(name); err == nil {
				t.Errorf("%s: removed", name)
			}
		}
	}
	for _, name := range []string{"folder", "absolute", "chain", "..", ".."} {
		if _, err := in.Sub(name); err == nil || !strings.Contains(err.Error(), "leads out of") {
			t.Errorf("%s: opened as a folder: %v", name, err)
		}
		if _, err := in.ReadDir(name); err == nil {
			t.Errorf("%s: listed", name)
		}
	}
	for _, name := range []string{"own", "inside", "sub/own", "sub/../own"} {
		if b, err := in.ReadFile(name); err != nil || string(b) != "own" {
			t.Errorf("%s: %q, %v", name, b, err)
		}
	}
	for _, path := range []string{"secret", "out/file"} {
		if b, err := os.ReadFile(filepath.Join(dir, path)); err != nil || string(b) != "theirs" {
			t.Errorf("%s is %q (%v)", path, b, err)
		}
	}
}

// Outputs that have to lie in a folder do not leave it through a link.
func TestFilesKeepWithin(t *testing.T) {
	dir, _ := within(t)
	in := filepath.Join(dir, "in")
	for _, path := range []string{"folder/file", "absolute/file", "chain/new/file", "../out/file", "../secret"} {
		f := Files{Force: true, Within: in}
		f.Put(filepath.Join(in, filepath.FromSlash(path)), []byte("ours"))
		if err := f.Write(t.Context()); err == nil {
			t.Errorf("%s: written", path)
		}
		if _, err := (&Files{Force: true, Within: in}).Spool(filepath.Join(in,
			filepath.FromSlash(path))); err == nil {
			t.Errorf("%s: spooled", path)
		}
	}
	for _, path := range []string{"secret", "out/file"} {
		if b, err := os.ReadFile(filepath.Join(dir, path)); err != nil || string(b) != "theirs" {
			t.Errorf("%s is %q (%v)", path, b, err)
		}
	}
	// A link in the place of a file is replaced, not followed.
	f := Files{Force: true, Within: in}
	f.Put(filepath.Join(in, "file"), []byte("ours"))
	f.Put(filepath.Join(in, "deep", "er", "file"), []byte("ours"))
	if err := f.Write(t.Context()); err != nil {
		t.Fatal(err)
	}
	if b, _ := os.ReadFile(filepath.Join(in, "file")); string(b) != "ours" {
		t.Errorf("the file is %q", b)
	}
	if b, _ := os.ReadFile(filepath.Join(dir, "secret")); string(b) != "theirs" {
		t.Errorf("what the link led to is %q", b)
	}
}

// A file in the place of a folder is named.
func TestFileOnTheWay(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "group"), nil, 0o666); err != nil {
		t.Fatal(err)
	}
	f, err := OpenFolder(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := f.Stat("group/deeper/a.tsv"); err == nil ||
		!strings.Contains(err.Error(), filepath.Join(dir, "group")+" is a file") {
		t.Errorf("a file on the way: %v", err)
	}
}
