package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"calotte/cmd/internal/console"
	"calotte/topo/erp"
	"calotte/topo/recording"
)

// A person is the recordings that are averaged together, and the name that
// their averages get.
type person struct {
	name       string
	recordings []*openRecording
}

// files names the person's recordings for an error.
func (p person) files() string {
	texts := make([]string, len(p.recordings))
	for i, r := range p.recordings {
		texts[i] = r.path
	}
	return strings.Join(texts, ", ")
}

// sources waits for the hashes of the person's recordings.
func (p person) sources() ([]erp.Source, error) {
	var out []erp.Source
	for _, r := range p.recordings {
		s, err := r.source()
		if err != nil {
			return nil, err
		}
		out = append(out, s)
	}
	return out, nil
}

// byPerson groups recordings. Without each they must be one person's, as far as
// file names and patient codes tell.
func byPerson(recordings []*openRecording, each bool, name string) ([]person, error) {
	var people []person
	for _, r := range recordings {
		id := identify(r)
		i := slices.IndexFunc(people, func(p person) bool {
			known := identify(p.recordings[0])
			return known == id && (id != "" || !each)
		})
		switch {
		case i >= 0:
			people[i].recordings = append(people[i].recordings, r)
		case len(people) > 0 && !each:
			return nil, console.Usagef("%s and %s are of different people: average each person's alone, or add --each",
				people[0].recordings[0].path, r.path)
		default:
			people = append(people, person{stem(r.path), []*openRecording{r}})
		}
	}
	if name == "" {
		return people, distinctNames(people)
	}
	if len(people) > 1 {
		return nil, console.Usagef("--name %s would be the name of %d people: leave it out", name, len(people))
	}
	if err := checkStem(name); err != nil {
		return nil, err
	}
	people[0].name = name
	return people, nil
}

func distinctNames(people []person) error {
	for i, p := range people {
		for _, q := range people[:i] {
			if p.name == q.name {
				return fmt.Errorf("%s and %s would both be averaged as %q: rename one", q.files(), p.files(), p.name)
			}
		}
	}
	return nil
}

var participantLabel = regexp.MustCompile(`^sub-[0-9A-Za-z]+`)

// identify tells people apart: by the sub- label of the file's name, else by the
// code in the patient field. It is for comparing, not for showing.
func identify(r *openRecording) string {
	if label := participantLabel.FindString(filepath.Base(r.path)); label != "" {
		return label
	}
	return r.PatientCode()
}

// stem is what the averages of a recording are called: the participant's label,
// or the file's name without its ending.
func stem(path string) string {
	base := filepath.Base(path)
	if label := participantLabel.FindString(base); label != "" {
		return label
	}
	return strings.TrimSuffix(base, filepath.Ext(base))
}

// events lists the events of several recordings.
func events(recordings []*openRecording) []recording.Event {
	var all []recording.Event
	for _, r := range recordings {
		all = append(all, r.Events...)
	}
	return all
}

// openRecordings opens every file and begins to hash it.
func openRecordings(paths []string, o recording.Options) (open []*openRecording, closeAll func(), err error) {
	closeAll = func() {
		for _, r := range open {
			r.Close()
		}
	}
	for i, path := range paths {
		if slices.Contains(paths[:i], path) {
			return open, closeAll, console.Usagef("%s is given twice", path)
		}
		r, err := openRecordingFile(path, o)
		if err != nil {
			return open, closeAll, err
		}
		open = append(open, r)
	}
	if len(open) == 0 {
		return open, closeAll, errors.New("no recordings")
	}
	return open, closeAll, nil
}
