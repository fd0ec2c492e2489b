package disk

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// reached are the folders that a run has opened, and those that it has made.
type reached struct {
	open map[string]*Folder
	ways []*Folder // those on the way to them
	made []making  // in the order of making
}

// A making is a folder that was made in another.
type making struct {
	parent *Folder
	name   string
}

// nearest is the folder, or the nearest one above it that exists, and the names
// that lead from there to it.
func nearest(dir string) (top string, names []string, err error) {
	for {
		info, err := os.Stat(dir)
		if err == nil && info.IsDir() {
			slices.Reverse(names)
			return dir, names, nil
		}
		if err == nil {
			return "", nil, fmt.Errorf("%s is a file, not a folder: choose another output", dir)
		}
		parent := filepath.Dir(dir)
		if parent == dir {
			return "", nil, err
		}
		names, dir = append(names, filepath.Base(dir)), parent
	}
}

// reach opens a folder, which it makes where it is missing. Where it has to lie
// within another every step of the way is taken from there.
func (r *reached) reach(within, dir string) (*Folder, error) {
	dir = filepath.Clean(dir)
	if known := r.open[dir]; known != nil {
		return known, nil
	}
	top, names, err := nearest(dir)
	if within != "" {
		top, names, err = below(within, dir)
	}
	if err != nil {
		return nil, err
	}
	folder, err := r.descend(top, names)
	if err != nil {
		return nil, err
	}
	if r.open == nil {
		r.open = map[string]*Folder{}
	}
	r.open[dir] = folder
	return folder, nil
}

// below is the way from a folder that exists to one that has to lie in it.
func below(within, dir string) (top string, names []string, err error) {
	way, err := filepath.Rel(within, dir)
	if err != nil || !filepath.IsLocal(way) {
		return "", nil, fmt.Errorf("it lies outside of %s", within)
	}
	if way == "." {
		return within, nil, nil
	}
	return within, strings.Split(way, string(filepath.Separator)), nil
}

func (r *reached) descend(top string, names []string) (*Folder, error) {
	folder, err := OpenFolder(top)
	if err != nil {
		return nil, err
	}
	r.ways = append(r.ways, folder)
	for _, name := range names {
		next, err := folder.Sub(name)
		if errors.Is(err, fs.ErrNotExist) {
			err = folder.mkdir(name)
			if err == nil {
				r.made = append(r.made, making{folder, name})
			}
			if err == nil || errors.Is(err, fs.ErrExist) { // another run was faster
				next, err = folder.Sub(name)
			}
		}
		if err != nil {
			return nil, err
		}
		r.ways = append(r.ways, next)
		folder = next
	}
	return folder, nil
}

// madeIn are the folders in which others were made.
func (r *reached) madeIn() []*Folder {
	var list []*Folder
	for _, m := range r.made {
		list = append(list, m.parent)
	}
	return list
}

// release closes the folders, and removes those that were made and are empty.
func (r *reached) release() {
	for _, m := range slices.Backward(r.made) {
		m.parent.Remove(m.name)
	}
	for _, folder := range r.ways {
		folder.Close()
	}
	*r = reached{}
}
