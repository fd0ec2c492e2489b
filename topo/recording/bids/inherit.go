package bids

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"
)

// Sidecars are the paths of the files that apply to a recording, in its data
// set; empty where there is none.
type Sidecars struct {
	Events      string
	Channels    string
	Electrodes  string
	Coordinates string   // the *_coordsystem.json of Electrodes
	EEG         []string // *_eeg.json, the least specific first
	Notes       []string
}

// A candidate is a file whose name applies to a recording.
type candidate struct {
	path  string
	name  Name
	level int // of its folder; the data set's own is 0
}

// rank orders candidates by how specific they are.
func (c candidate) rank() [2]int {
	entities := len(c.name.Entities)
	if c.name.Get(spaceKey) != "" {
		entities--
	}
	return [2]int{c.level, entities}
}

// A Finder finds the sidecars of many recordings of one data set, and lists
// each of its folders once. It is not for several goroutines at once.
type Finder struct {
	fsys  fs.FS
	named map[string][]candidate // of a folder, the files whose names can be taken apart
}

// NewFinder returns a Finder for a data set.
func NewFinder(fsys fs.FS) *Finder { return &Finder{fsys, map[string][]candidate{}} }

// FindSidecars finds the files that apply to the recording at a path of a data
// set: sub-01/eeg/sub-01_task-flags_eeg.edf. The recording need not be there.
func FindSidecars(fsys fs.FS, recording string) (Sidecars, error) {
	return NewFinder(fsys).Find(recording)
}

// Find finds the files that apply to a recording, as [FindSidecars] does.
func (f *Finder) Find(recording string) (Sidecars, error) {
	name, err := ParseName(path.Base(recording))
	if err != nil {
		return Sidecars{}, err
	}
	all, err := f.applying(path.Dir(recording), name)
	if err != nil {
		return Sidecars{}, err
	}
	of := func(suffix, extension string) []candidate {
		var some []candidate
		for _, c := range all {
			if c.name.Suffix == suffix && c.name.Extension == extension {
				some = append(some, c)
			}
		}
		return some
	}
	var s Sidecars
	var faults [3]error
	s.Events, faults[0] = nearest(of("events", ".tsv"))
	s.Channels, faults[1] = nearest(of("channels", ".tsv"))
	s.EEG, faults[2] = layers(of("eeg", ".json"))
	if err := errors.Join(faults[:]...); err != nil {
		return Sidecars{}, err
	}
	s.positions(of("electrodes", ".tsv"), of("coordsystem", ".json"))
	return s, nil
}

// applying lists the files that apply, in the folder and those above it, from
// the least to the most specific.
func (f *Finder) applying(folder string, name Name) ([]candidate, error) {
	var found []candidate
	folders := []string{"."}
	if folder != "." {
		at := ""
		for part := range strings.SplitSeq(folder, "/") {
			at = path.Join(at, part)
			folders = append(folders, at)
		}
	}
	for level, folder := range folders {
		named, err := f.list(folder)
		if err != nil {
			return nil, err
		}
		for _, c := range named {
			if c.name.appliesTo(name) {
				c.level = level
				found = append(found, c)
			}
		}
	}
	slices.SortStableFunc(found,
		func(a, b candidate) int { x, y := a.rank(), b.rank(); return slices.Compare(x[:], y[:]) })
	return found, nil
}

// list lists the files of a folder whose names can be taken apart.
func (f *Finder) list(folder string) ([]candidate, error) {
	if named, ok := f.named[folder]; ok {
		return named, nil
	}
	entries, err := fs.ReadDir(f.fsys, folder)
	if err != nil {
		return nil, err
	}
	var named []candidate
	for _, e := range entries {
		if n, err := ParseName(e.Name()); err == nil && !e.IsDir() {
			named = append(named, candidate{path: path.Join(folder, e.Name()), name: n})
		}
	}
	f.named[folder] = named
	return named, nil
}

// nearest returns the most specific of some candidates.
func nearest(some []candidate) (string, error) {
	last := len(some) - 1
	if last < 0 {
		return "", nil
	}
	if last > 0 && some[last].rank() == some[last-1].rank() {
		return "", fmt.Errorf("%s and %s apply to the recording alike: keep one, or tell them apart "+
			"by an entity "+
			"such as run", some[last-1].path, some[last].path)
	}
	return some[last].path, nil
}

// layers returns all candidates, no two of one rank.
func layers(some []candidate) ([]string, error) {
	var paths []string
	for i := range some {
		p, err := nearest(some[:i+1])
		if err != nil {
			return nil, err
		}
		paths = append(paths, p)
	}
	return paths, nil
}

// positions takes the electrodes that are nearest, and the coordinate system of
// their space.
func (s *Sidecars) positions(electrodes, systems []candidate) {
	chosen, err := nearest(electrodes)
	if err != nil {
		s.Notes = append(s.Notes, err.Error()+": no positions are used")
		return
	}
	if chosen == "" {
		return
	}
	space := electrodes[len(electrodes)-1].name.Get(spaceKey)
	systems = slices.DeleteFunc(systems, func(c candidate) bool { return c.name.Get(spaceKey) != space })
	s.Electrodes = chosen
	if s.Coordinates, err = nearest(systems); err != nil {
		s.Notes = append(s.Notes, err.Error()+": none is used")
	}
}
