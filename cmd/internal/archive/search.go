package archive

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"calotte/cmd/internal/disk"
	"calotte/topo/provenance"
)

// A search looks for files by their names and hashes. It remembers what lies
// where, since whoever wrote the names may have written one many times.
type search struct {
	ctx     context.Context
	shelf   *Shelf // of averages, whose hashes are known
	folders []string
	wide    bool                       // also around the folder to begin with
	near    map[string][]string        // all folders to look in, by the one to begin with
	far     map[string][]string        // those to look in after these, likewise
	names   map[string]map[string]bool // what lies in a folder, by its path
	sums    map[string]string          // by path
}

func newSearch(ctx context.Context, shelf *Shelf, folders []string) *search {
	return &search{ctx: ctx, shelf: shelf, folders: folders, near: map[string][]string{}, far: map[string][]string{},
		names: map[string]map[string]bool{}, sums: map[string]string{}}
}

// locate finds a file by its name, first in a folder, then in those of the
// search, then around the first one where that is asked for, and whether its
// hash is right.
func (s *search) locate(first string, source provenance.Source) (path string, same bool, err error) {
	if filepath.Base(source.Name) != source.Name {
		return "", false, nil // no name that this program records
	}
	if s.near[first] == nil {
		s.near[first] = slices.Collect(WithPeople(append([]string{first}, s.folders...)))
	}
	if path, same, err = s.among(s.near[first], source); err != nil || path != "" || !s.wide {
		return path, same, err // one that is not the same has been changed, and should be known
	}
	if s.far[first] == nil {
		s.far[first] = around(first)
	}
	return s.among(s.far[first], source)
}

// How far around a folder is looked, so that people of whom a grand average was
// made elsewhere are found without being told: in the folder above it, so deep
// below that, and in so many folders at most.
const (
	farthest    = 3
	mostFolders = 2000
)

// around are the folders below the one above a folder, the nearest first, but
// hidden ones and links.
func around(first string) []string {
	level := []string{filepath.Join(first, "..")}
	var all []string
	for range farthest {
		var next []string
		for _, dir := range level {
			entries, _ := disk.ReadDir(dir) // what cannot be read holds nothing to find
			for _, e := range entries {
				if e.IsDir() && !strings.HasPrefix(e.Name(), ".") && len(all)+len(next) < mostFolders {
					next = append(next, filepath.Join(dir, e.Name()))
				}
			}
		}
		all = append(all, next...)
		level = next
	}
	return all
}

// among finds a file in folders.
func (s *search) among(folders []string, source provenance.Source) (path string, same bool, err error) {
	for _, dir := range folders {
		if !s.holds(dir, source.Name) {
			continue
		}
		candidate := filepath.Join(dir, source.Name)
		info, err := os.Stat(candidate)
		if err != nil || !info.Mode().IsRegular() {
			continue
		}
		sum, err := s.hash(candidate)
		if err != nil {
			return "", false, err
		}
		if sum != "" && sum == source.SHA256 {
			return candidate, true, nil
		}
		if path == "" {
			path = candidate
		}
	}
	return path, false, nil
}

// holds reports whether a folder has a file of some name.
func (s *search) holds(dir, name string) bool {
	names, known := s.names[dir]
	if !known {
		names = map[string]bool{}
		entries, _ := disk.ReadDir(dir) // what cannot be read holds nothing to find
		for _, e := range entries {
			names[e.Name()] = true
		}
		s.names[dir] = names
	}
	return names[name]
}

func (s *search) hash(path string) (sum string, err error) {
	sum, known := s.sums[path]
	if known {
		return sum, nil
	}
	if sum, known = s.shelf.hash(path); !known {
		if sum, err = hashFile(s.ctx, path); err != nil {
			return "", err
		}
	}
	s.sums[path] = sum
	return sum, nil
}
