package bids

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"
)

// Sidecars are the paths of the files that apply to a recording, in its data set;
// empty where there is none.
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

// FindSidecars finds the files that apply to the recording at a path of a data set:
// sub-01/eeg/sub-01_task-flags_eeg.edf. The recording need not be there.
func FindSidecars(fsys fs.FS, recording string) (Sidecars, error) {
	name, err := ParseName(path.Base(recording))
	if err != nil {
		return Sidecars{}, err
	}
	all, err := applying(fsys, path.Dir(recording), name)
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

// applying lists the files that apply, in the folder and those above it, from the
// least to the most specific.
func applying(fsys fs.FS, folder string, name Name) ([]candidate, error) {
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
		entries, err := fs.ReadDir(fsys, folder)
		if err != nil {
			return nil, err
		}
		for _, e := range entries {
			n, err := ParseName(e.Name())
			if err == nil && !e.IsDir() && n.appliesTo(name) {
				found = append(found, candidate{path.Join(folder, e.Name()), n, level})
			}
		}
	}
	slices.SortStableFunc(found, func(a, b candidate) int { x, y := a.rank(), b.rank(); return slices.Compare(x[:], y[:]) })
	return found, nil
}

// nearest returns the most specific of some candidates.
func nearest(some []candidate) (string, error) {
	last := len(some) - 1
	if last < 0 {
		return "", nil
	}
	if last > 0 && some[last].rank() == some[last-1].rank() {
		return "", fmt.Errorf("%s and %s apply to the recording alike: keep one, or tell them apart by an entity such as run", some[last-1].path, some[last].path)
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
