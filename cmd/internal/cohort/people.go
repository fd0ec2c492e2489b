package cohort

import (
	"fmt"
	"maps"
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
	// electrodes are positions that were digitised, if any, coordinates
	// their space.
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
	apart := newApartness(p.Dir)
	for _, name := range p.recordings {
		for _, path := range disk.Expand([]string{p.SeenFrom(name)}) {
			if err := p.checkApart(apart, path); err != nil {
				return err
			}
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
	sets := dataSets{}
	for _, path := range files {
		p.People = append(p.People, sets.lone(path))
	}
	slices.SortFunc(p.People, func(a, b Participant) int { return strings.Compare(a.Name, b.Name) })
	for i, x := range p.People[:max(0, len(p.People)-1)] {
		if p.People[i+1].Name == x.Name {
			return fmt.Errorf("%s: two recordings are of %s: give the BIDS folder that they lie in as "+
				"recordings, or "+
				"name them apart", p.Path, x.Name)
		}
	}
	for _, x := range p.People {
		p.spared = append(p.spared, x.files...)
	}
	if err := p.choosePeople(); err != nil {
		return err
	}
	if len(p.People) == 0 {
		return fmt.Errorf("%s: there are no recordings", p.Path)
	}
	return nil
}

// dataSets are the folders in which recordings lie that are named one by one.
type dataSets map[string]*bids.Finder

// lone is the person of one recording, with the tables beside it where it lies
// in a data set.
func (d dataSets) lone(path string) Participant {
	x := Participant{Name: personOf(path), recordings: []string{path}, files: []string{path}}
	if root, in, ok := bids.Root(filepath.ToSlash(path)); ok {
		x.Name = personName(strings.TrimPrefix(strings.SplitN(filepath.Base(path), "_", 2)[0], "sub-"))
		root = filepath.FromSlash(root)
		if d[root] == nil {
			d[root] = bids.NewFinder(disk.FS(root))
		}
		x.addBeside(d[root], root, in)
	} else if table := bids.EventsBeside(path); isFile(table) {
		x.files = append(x.files, table)
	}
	return x
}

// addBeside adds what stands beside a recording of a data set.
func (x *Participant) addBeside(finder *bids.Finder, root, in string) {
	beside, err := finder.Find(in)
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
	stem := strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return r
		}
		return -1
	}, strings.TrimPrefix(bids.Stem(filepath.Base(path)), "sub-"))
	return personName(stem)
}

func isFile(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.Mode().IsRegular()
}

// choosePeople leaves those that participants names.
func (p *Plan) choosePeople() error {
	if p.participants == nil {
		return nil
	}
	find := p.findLabels()
	chosen := map[int]Participant{}
	for _, label := range p.participants {
		i, ok := find(label)
		if !ok {
			return fmt.Errorf("%s: participants: there is no %s: there are %s", p.Path, label,
				console.SomeOf(p.Names()))
		}
		chosen[i] = p.People[i]
	}
	var people []Participant
	for _, i := range slices.Sorted(maps.Keys(chosen)) { // which is the order of the names
		people = append(people, chosen[i])
	}
	p.People = people
	return nil
}

// findLabels returns a function that finds who has a label, or else the one
// person whose label is the same number, 1 for 01, as YAML writes it.
func (p *Plan) findLabels() func(label string) (person int, ok bool) {
	named, numbered := map[string]int{}, map[int][]int{}
	for i, x := range p.People {
		named[x.Name] = i
		if n, err := strconv.Atoi(strings.TrimPrefix(x.Name, "sub-")); err == nil {
			numbered[n] = append(numbered[n], i)
		}
	}
	return func(label string) (int, bool) {
		if i, ok := named[personName(label)]; ok {
			return i, true
		}
		n, err := strconv.Atoi(strings.TrimPrefix(label, "sub-"))
		if err != nil || len(numbered[n]) != 1 {
			return 0, false
		}
		return numbered[n][0], true
	}
}

// findInFolder lists the people of a BIDS folder. Who has no recording that
// counts is there with the reason; what is to be chosen is an error that says
// so.
func (p *Plan) findInFolder(root string) error {
	fsys := disk.FS(root)
	set, err := bids.Open(fsys)
	if err != nil {
		return err
	}
	choice := bids.Choice{Sessions: p.sessions, Tasks: p.tasks, Runs: p.run}
	files, _ := set.Choose(choice) // why somebody has none is told person by person
	for _, f := range set.Recordings {
		p.spared = append(p.spared, filepath.Join(root, filepath.FromSlash(f.Path)))
	}
	of := map[string][]bids.File{}
	var sessions, tasks []string
	for _, f := range files {
		of[f.Subject()] = append(of[f.Subject()], f)
		sessions, tasks = append(sessions, f.Session()), append(tasks, f.Task())
	}
	finder := bids.NewFinder(fsys)
	for _, label := range set.Subjects {
		x := Participant{Name: personName(label)}
		if of[label] == nil {
			choice.Subjects = []string{label}
			_, x.Err = set.Choose(choice)
		}
		for _, f := range of[label] {
			path := filepath.Join(root, filepath.FromSlash(f.Path))
			x.recordings, x.files = append(x.recordings, path), append(x.files, path)
			x.addBeside(finder, root, f.Path)
		}
		p.People = append(p.People, x)
	}
	for _, c := range []struct {
		what string
		list []string
	}{{"session", sessions}, {"task", tasks}} {
		slices.Sort(c.list)
		if list := slices.Compact(c.list); len(list) > 1 {
			return fmt.Errorf("there are %d %ss, %s: a study is of one: add %s: %s to the recipe",
				len(list),
				c.what,
				strings.Join(list, ", "), c.what, list[0])
		}
	}
	return nil
}
