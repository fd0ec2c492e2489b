package places

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/topo/provenance"
)

// A Set is the folders in which inputs of recorded work are looked for. Whoever
// wrote the record, nothing outside of them is found: names are base names, and
// links must not lead out.
type Set struct {
	ctx     context.Context
	Folders []string
	Inputs  []provenance.Source // as recorded
	roots   []string            // the folders, with those of people, free of links
	looked  map[string]bool
	known   map[string]string // what was found, by name
}

// New looks at the folders, and at those of people in them.
func New(ctx context.Context, folders []string) (*Set, error) {
	p := &Set{ctx: ctx, Folders: folders, looked: map[string]bool{}, known: map[string]string{}}
	for dir := range archive.WithPeople(folders) {
		root, err := Resolved(dir)
		if err != nil {
			return nil, err
		}
		p.roots = append(p.roots, root)
	}
	return p, nil
}

// Resolved is the absolute path of what a path leads to.
func Resolved(path string) (string, error) {
	path, err := filepath.EvalSymlinks(path)
	if err != nil {
		return "", err
	}
	return filepath.Abs(path)
}

// Find looks for an input, once however often it is named.
func (p *Set) Find(name string) (string, error) {
	if path, known := p.known[name]; known {
		return path, nil
	}
	if err := checkBase(name); err != nil {
		return "", err
	}
	path, err := p.search(name)
	if err == nil {
		p.known[name] = path
	}
	return path, err
}

// search looks for an input by its name and hash, or for a folder by its name.
// What no hash is recorded of, since it went into another output of the same
// run, is taken by its name.
func (p *Set) search(name string) (string, error) {
	recorded := slices.ContainsFunc(p.Inputs, func(s provenance.Source) bool { return s.Name == name })
	seen := false
	for dir := range archive.WithPeople(p.Folders) {
		candidate := filepath.Join(dir, name)
		info, err := os.Stat(candidate)
		if err != nil {
			continue
		}
		if err := p.checkLinks(candidate, info.IsDir()); err != nil {
			return "", err
		}
		if info.IsDir() || !recorded {
			return candidate, nil
		}
		seen = true
		same, err := archive.Same(p.ctx, candidate, p.Inputs)
		if err != nil {
			return "", err
		}
		if same {
			return candidate, nil
		}
	}
	if seen {
		return "", fmt.Errorf("it was made from %s, which has changed since: nothing to do again",
			console.Echo(name))
	}
	return "", fmt.Errorf("it was made from %s, which is not here: say where with --in FOLDER", console.Echo(name))
}

// FindAll finds what a file names, which may be a pattern and have folders
// before it, among the recorded inputs.
func (p *Set) FindAll(path string) ([]string, error) {
	names := []string{filepath.Base(path)}
	if strings.Contains(names[0], "*") {
		pattern := names[0]
		names = nil
		for _, in := range p.Inputs {
			if ok, err := filepath.Match(pattern, in.Name); ok && err == nil {
				names = append(names, in.Name)
			}
		}
		slices.Sort(names)
		names = slices.Compact(names)
	}
	var paths []string
	for _, name := range names {
		path, err := p.Find(name)
		if err != nil {
			return nil, err
		}
		if path, err = filepath.Abs(path); err != nil {
			return nil, err
		}
		paths = append(paths, path)
	}
	return paths, nil
}

// checkBase refuses what is no base name on some system, or would be taken for
// a flag.
func checkBase(name string) error {
	if name == "" || name == "." || !filepath.IsLocal(name) || strings.ContainsAny(name, "/\\\x00") ||
		name[0] == '-' {
		return fmt.Errorf("it names the input \"%s\", which is no file's name without its folder: nothing "+
			"outside of "+
			"the folders given is opened", console.Echo(name))
	}
	return nil
}

// checkLinks refuses links that lead out of the folders: of a folder all that
// are in it, of a file those beside it, where what belongs to it lies.
func (p *Set) checkLinks(path string, folder bool) error {
	dir := path
	if !folder {
		dir = filepath.Dir(path)
	}
	if p.looked[dir] {
		return nil
	}
	p.looked[dir] = true
	if err := p.Within(dir); err != nil {
		return err
	}
	return fs.WalkDir(disk.FS(dir), ".", func(name string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && name != "." && !folder:
			return fs.SkipDir
		case d.Type()&fs.ModeSymlink == 0:
			return nil
		}
		at := filepath.Join(dir, filepath.FromSlash(name))
		if to, err := os.Stat(at); err != nil || to.IsDir() && !folder {
			return nil // it leads nowhere, or to what is not looked into
		}
		return p.Within(at)
	})
}

// Within refuses what does not lie in one of the folders, links followed.
func (p *Set) Within(path string) error {
	to, err := Resolved(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	inside := func(root string) bool {
		rel, err := filepath.Rel(root, to)
		return err == nil && filepath.IsLocal(rel)
	}
	if !slices.ContainsFunc(p.roots, inside) {
		return fmt.Errorf("%s%s lies outside of the folders given: give its folder by --in as well", path,
			leading(path, to))
	}
	return nil
}

// leading says of a link where it leads, and nothing of other files.
func leading(path, to string) string {
	if dir, err := Resolved(filepath.Dir(path)); err == nil && filepath.Join(dir, filepath.Base(path)) == to {
		return ""
	}
	return " is a link to " + to + ", which"
}
