package disk_test

import (
	"fmt"
	"go/types"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"golang.org/x/tools/go/packages"
)

// doors are what opens, reads or changes files and folders by their paths: of a
// package the functions that are named, or all.
var doors = map[string][]string{
	"os": {
		"Chmod", "Chown", "Chtimes", "CopyFS", "Create", "CreateTemp", "DirFS", "Lchown", "Link", "Mkdir",
		"MkdirAll",
		"MkdirTemp", "Open", "OpenFile", "OpenInRoot", "OpenRoot", "ReadDir", "ReadFile", "Remove", "RemoveAll",
		"Rename", "Symlink", "Truncate", "WriteFile",
	},
	"path/filepath":            {"Glob", "Walk", "WalkDir"},
	"io/ioutil":                nil,
	"syscall":                  nil,
	"golang.org/x/sys/unix":    nil,
	"golang.org/x/sys/windows": nil,
}

// isDoor tells whether something that a program names is one of the doors.
func isDoor(o types.Object) bool {
	if _, ok := o.(*types.Func); !ok || o.Pkg() == nil || o.Parent() != o.Pkg().Scope() {
		return false // nor is a method: what it belongs to is open
	}
	names, ok := doors[o.Pkg().Path()]
	return ok && (names == nil || slices.Contains(names, o.Name()))
}

// doorsIn are the uses of doors in the packages of a pattern, their tests
// apart, and the files that are left out on this system, in which none would be
// seen. Files may be planted.
func doorsIn(t *testing.T, pattern string, planted map[string][]byte) (found []string, loaded map[string]bool) {
	t.Helper()
	list, err := packages.Load(&packages.Config{Mode: packages.LoadSyntax, Overlay: planted}, pattern)
	if err != nil {
		t.Fatal(err)
	}
	loaded = map[string]bool{}
	for _, p := range list {
		for _, err := range p.Errors {
			t.Fatal(err)
		}
		loaded[p.PkgPath] = true
		if p.PkgPath == "calotte/cmd/internal/disk" || isForTests(p.PkgPath) {
			continue
		}
		for name, use := range p.TypesInfo.Uses {
			if at := p.Fset.Position(name.Pos()); isDoor(use) {
				found = append(found, fmt.Sprintf("%s/%s:%d: %s.%s", p.PkgPath,
					filepath.Base(at.Filename),
					at.Line,
					use.Pkg().Path(), use.Name()))
			}
		}
		for _, path := range p.IgnoredFiles {
			if strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, "_test.go") {
				found = append(found, fmt.Sprintf("%s/%s: left out on this system", p.PkgPath,
					filepath.Base(path)))
			}
		}
	}
	slices.Sort(found)
	return found, loaded
}

// isForTests tells the packages that only tests import, by their names.
func isForTests(path string) bool {
	return strings.Contains(path, "/internal/") && strings.HasSuffix(path, "test")
}

// Files are opened, read and changed by this package alone.
func TestOneDoor(t *testing.T) {
	found, loaded := doorsIn(t, "calotte/...", nil)
	for _, p := range []string{"calotte/cmd/calotte", "calotte/cmd/internal/disk", "calotte/topo/recording",
		"calotte/render", "calotte/layout"} {
		if !loaded[p] {
			t.Errorf("%s was not looked at", p)
		}
	}
	for _, use := range found {
		t.Errorf("%s: go through calotte/cmd/internal/disk", use)
	}
}

// A door is seen under whatever name it is used, and what only looks like one
// is not.
func TestDoorsAreSeen(t *testing.T) {
	const file = `package planted

import (
	"io/fs"
	"io/ioutil"
	system "os"
	. "path/filepath"
	"syscall"
)

type disk struct{}

func (disk) Open(string) error { return nil }

var (
	stored   = system.Open
	inFields = map[string]any{"write": system.WriteFile}
	read, _  = ioutil.ReadFile("file")
	errMiss  = syscall.ENOENT
	errFound = system.ErrExist
)

func use(d disk, fsys fs.FS, file *system.File) {
	d.Open("file")
	fs.ReadFile(fsys, "file")
	file.ReadDir(0)
	Join("a", "b")
	Glob("*")
	(system.Remove)("file")
	defer system.RemoveAll("folder")
	func() { syscall.Open("file", 0, 0) }()
	system.Stat("file")
	var os disk
	os.Open("file")
}
`
	folder, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	const name = "calotte/cmd/internal/disk/planted"
	planted := map[string][]byte{
		filepath.Join(folder, "planted", "planted.go"):   []byte(file),
		filepath.Join(folder, "planted", "elsewhere.go"): []byte("//go:build never\n\npackage planted\n"),
	}
	found, _ := doorsIn(t, name, planted)
	want := []string{
		name + "/elsewhere.go: left out on this system",
		name + "/planted.go:16: os.Open",
		name + "/planted.go:17: os.WriteFile",
		name + "/planted.go:18: io/ioutil.ReadFile",
		name + "/planted.go:28: path/filepath.Glob",
		name + "/planted.go:29: os.Remove",
		name + "/planted.go:30: os.RemoveAll",
		name + "/planted.go:31: syscall.Open",
	}
	if !slices.Equal(found, want) {
		t.Errorf("found:\n%s\nwant:\n%s", strings.Join(found, "\n"), strings.Join(want, "\n"))
	}
}
