package cohort

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/topo/recording/bids"
)

// A Participant of a study, with the recordings that count.
type Participant struct {
	Name       string
	recordings []string
	files      []string // recordings and what stands beside them
	// electrodes are positions that were digitised, if any, coordinates their space.
	electrodes, coordinates string
	Err                     error // why there is nothing to average
}

// Names are the people of the study.
func (p *Plan) Names() []string {
	var names []string
	for _, x := range p.People {
		names = append(names, x.Name)
	}
	return names
}

// findPeople lists the people of the recordings, in the order of their names.
func (p *Plan) findPeople() error {
	var files []string
	for _, name := range p.recordings {
		for _, path := range disk.Expand([]string{p.SeenFrom(name)}) {
			info, err := os.Stat(path)
			switch {
			case err != nil:
				return fmt.Errorf("%s: recordings: %w", p.Path, err)
			case !info.IsDir():
				files = append(files, path)
				continue
			}
			if err := p.findInFolder(path); err != nil {
				return fmt.Errorf("%s: %w", path, err)
			}
		}
	}
	if files != nil && len(p.sessions)+len(p.tasks)+len(p.run) > 0 {
		return fmt.Errorf("%s: session, task and run choose from a BIDS folder: give one as recordings", p.Path)
	}
	for _, path := range files {
		p.People = append(p.People, lone(path))
	}
	slices.SortFunc(p.People, func(a, b Participant) int { return strings.Compare(a.Name, b.Name) })
	for i, x := range p.People[:max(0, len(p.People)-1)] {
		if p.People[i+1].Name == x.Name {
			return fmt.Errorf("%s: two recordings are of %s: give the BIDS folder that they lie in as recordings, or name them apart", p.Path, x.Name)
		}
	}
	if err := p.choosePeople(); err != nil {
		return err
	}
	if len(p.People) == 0 {
		return fmt.Errorf("%s: there are no recordings", p.Path)
	}
	return nil
}

// lone is the person of one recording, with the tables beside it where it lies in a data set.
func lone(path string) Participant {
	x := Participant{Name: personOf(path), recordings: []string{path}, files: []string{path}}
	if root, in, ok := bids.Root(filepath.ToSlash(path)); ok {
		x.Name = personName(strings.TrimPrefix(strings.SplitN(filepath.Base(path), "_", 2)[0], "sub-"))
		x.addBeside(filepath.FromSlash(root), in)
	}
	return x
}

// addBeside adds what stands beside a recording of a data set.
func (x *Participant) addBeside(root, in string) {
	beside, err := bids.FindSidecars(disk.FS(root), in)
	if err != nil {
		x.Err = err
		return
	}
	place := func(name string) string { return filepath.Join(root, filepath.FromSlash(name)) }
	if beside.Electrodes != "" && x.electrodes == "" {
		x.electrodes, x.coordinates = place(beside.Electrodes), ""
		if beside.Coordinates != "" {
			x.coordinates = place(beside.Coordinates)
		}
	}
	for _, name := range append([]string{beside.Events, beside.Channels}, beside.EEG...) {
		if name != "" {
			x.files = append(x.files, place(name))
		}
	}
	slices.Sort(x.files)
	x.files = slices.Compact(x.files)
}

// personOf names a person after the file of a recording.
func personOf(path string) string {
	stem := strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))
	stem = strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return r
		}
		return -1
	}, strings.TrimPrefix(stem, "sub-"))
	return personName(stem)
}

// choosePeople leaves those that participants names.
func (p *Plan) choosePeople() error {
	if p.participants == nil {
		return nil
	}
	var chosen []Participant
	for _, label := range p.participants {
		i := slices.IndexFunc(p.People, func(x Participant) bool { return x.Name == personName(label) })
		if i < 0 {
			i = p.numbered(label)
		}
		if i < 0 {
			return fmt.Errorf("%s: participants: there is no %s: there are %s", p.Path, label, console.SomeOf(p.Names()))
		}
		if !slices.ContainsFunc(chosen, func(x Participant) bool { return x.Name == p.People[i].Name }) {
			chosen = append(chosen, p.People[i])
		}
	}
	slices.SortFunc(chosen, func(a, b Participant) int { return strings.Compare(a.Name, b.Name) })
	p.People = chosen
	return nil
}

// findInFolder lists the people of a BIDS folder. Who has no recording that counts is there
// with the reason; what is to be chosen is an error that says so.
func (p *Plan) findInFolder(root string) error {
	fsys := disk.FS(root)
	set, err := bids.Open(fsys)
	if err != nil {
		return err
	}
	counted := func(label string) ([]bids.File, error) {
		return set.Choose(bids.Choice{Subjects: []string{label}, Sessions: p.sessions, Tasks: p.tasks, Runs: p.run})
	}
	var sessions, tasks []string
	for _, label := range set.Subjects {
		files, err := counted(label)
		x := Participant{Name: personName(label), Err: err}
		for _, f := range files {
			sessions, tasks = append(sessions, f.Session()), append(tasks, f.Task())
			path := filepath.Join(root, filepath.FromSlash(f.Path))
			x.recordings, x.files = append(x.recordings, path), append(x.files, path)
			x.addBeside(root, f.Path)
		}
		p.People = append(p.People, x)
	}
	for _, c := range []struct {
		what string
		list []string
	}{{"session", sessions}, {"task", tasks}} {
		slices.Sort(c.list)
		if list := slices.Compact(c.list); len(list) > 1 {
			return fmt.Errorf("there are %d %ss, %s: a study is of one: add %s: %s to the recipe", len(list), c.what, strings.Join(list, ", "), c.what, list[0])
		}
	}
	return nil
}

// numbered is the one person whose label is the same number, 1 for 01, as YAML writes it; else
// -1.
func (p *Plan) numbered(label string) int {
	found := -1
	for i, x := range p.People {
		n, err := strconv.Atoi(strings.TrimPrefix(x.Name, "sub-"))
		m, err2 := strconv.Atoi(strings.TrimPrefix(label, "sub-"))
		switch {
		case err != nil || err2 != nil || n != m:
		case found >= 0:
			return -1
		default:
			found = i
		}
	}
	return found
}
