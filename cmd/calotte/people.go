package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/topo/erp"
	"calotte/topo/provenance"
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

// locate gives an error the path of the recording that it is about, or those of all.
func (p person) locate(err error) error {
	var one *erp.RecordingError
	if errors.As(err, &one) {
		for _, r := range p.recordings {
			if filepath.Base(r.path) == one.Name {
				return fmt.Errorf("%s: %w", r.path, one.Err)
			}
		}
	}
	return fmt.Errorf("%s: %w", p.files(), err)
}

// sources waits for the hashes of the person's recordings.
func (p person) sources() ([]provenance.Source, error) {
	var out []provenance.Source
	for _, r := range p.recordings {
		s, err := r.source()
		if err != nil {
			return nil, err
		}
		out = append(out, s)
		for _, path := range r.sidecars {
			b, err := disk.ReadFile(path)
			if err != nil {
				return nil, err
			}
			if s := provenance.SourceOf(filepath.Base(path), b); !slices.Contains(out, s) {
				out = append(out, s)
			}
		}
	}
	return out, nil
}

// inputs are the recordings for the pipeline.
func (p person) inputs() []erp.Input {
	inputs := make([]erp.Input, len(p.recordings))
	for i, r := range p.recordings {
		inputs[i] = r.input()
	}
	return inputs
}

// An identity is what a recording says of whose it is: the sub- label of the
// file's name and the code in the patient field, and of which session, each empty
// where it is not there. The code is for comparing, not for showing.
type identity struct{ label, session, code string }

var participantLabel = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`^(sub-[0-9A-Za-z]+)(?:_(ses-[0-9A-Za-z]+))?`)
})

func identify(r *openRecording) identity {
	id := identity{code: r.PatientCode()}
	if found := participantLabel().FindStringSubmatch(filepath.Base(r.path)); found != nil {
		id.label, id.session = found[1], found[2]
	}
	return id
}

// name is the label, with that of the session.
func (i identity) name() string {
	if i.session == "" {
		return i.label
	}
	return i.label + "_" + i.session
}

// isOf reports whether label or code say that both are of one person, in one
// session.
func (i identity) isOf(o identity) bool { return i.session == o.session && i.isPerson(o) }

func (i identity) isPerson(o identity) bool {
	return i.label != "" && i.label == o.label || i.code != "" && i.code == o.code
}

// differs reports whether label or code say that they are of two people.
func (i identity) differs(o identity) bool {
	return i.label != "" && o.label != "" && i.label != o.label || i.code != "" && o.code != "" && i.code != o.code
}

// byPerson groups recordings by what they say of whose they are, in the order in
// which they are given. A recording that says nothing is a group of its own. It
// is an error when labels say one thing and codes another.
func byPerson(recordings []*openRecording) ([]person, error) {
	group := make([]int, len(recordings)) // the first recording of the same person
	for i, r := range recordings {
		group[i] = i
		for j, o := range recordings[:i] {
			if from, to := group[i], group[j]; identify(r).isOf(identify(o)) && from != to {
				for k := range group[:i+1] {
					if group[k] == max(from, to) {
						group[k] = min(from, to)
					}
				}
			}
		}
	}
	var people []person
	for i, first := range group {
		if first != i {
			continue
		}
		var p person
		for j, r := range recordings {
			if group[j] == i {
				p.recordings = append(p.recordings, r)
			}
		}
		if err := p.agree(); err != nil {
			return nil, err
		}
		p.name = p.label()
		people = append(people, p)
	}
	return people, nil
}

// agree refuses recordings that are of one person by some of their labels and
// codes and of several by others.
func (p person) agree() error {
	for i, r := range p.recordings {
		for _, o := range p.recordings[:i] {
			a, b := identify(o), identify(r)
			if !a.differs(b) {
				continue
			}
			one, two := "the codes in their patient fields", "the sub- labels of their names"
			if a.label == b.label || a.label == "" || b.label == "" {
				one, two = two, one
			}
			return fmt.Errorf("%s and %s are of one person by %s and of two by %s: correct what is wrong (X in the patient field: not known)", o.path, r.path, one, two)
		}
	}
	return nil
}

// label is what the person's averages are called: the participant's label, or
// the name of the first recording without its ending.
func (p person) label() string {
	for _, r := range p.recordings {
		if name := identify(r).name(); name != "" {
			return name
		}
	}
	base := filepath.Base(p.recordings[0].path)
	return archive.FitStem(strings.TrimSuffix(base, filepath.Ext(base)))
}

// silent reports whether no recording says anything of whose it is.
func silent(recordings []*openRecording) bool {
	return !slices.ContainsFunc(recordings, func(r *openRecording) bool { return identify(r) != identity{} })
}

// pool returns the people to average. Without each, all recordings are one
// person's: recordings that say otherwise are refused, and those that say nothing
// are taken together.
func pool(recordings []*openRecording, each bool) ([]person, error) {
	people, err := byPerson(recordings)
	switch {
	case err != nil:
		return nil, err
	case each:
		return people, distinctNames(people)
	case silent(recordings):
		return []person{{people[0].name, recordings}}, nil
	case len(people) > 1 && !sessionsOfOne(people):
		a, b := people[0].recordings[0], people[1].recordings[0]
		what := "nothing says that %s and %s are of one person"
		if identify(a).differs(identify(b)) {
			what = "%s and %s are of different people"
		}
		return nil, console.Usagef(what+": average each person's alone, or add --each", a.path, b.path)
	}
	return people, nil
}

// sessionsOfOne reports whether all are one person, in sessions that are averaged
// apart.
func sessionsOfOne(people []person) bool {
	first := identify(people[0].recordings[0])
	return !slices.ContainsFunc(people, func(p person) bool {
		id := identify(p.recordings[0])
		return id.session == "" || !id.isPerson(first)
	})
}

// distinctNames refuses people whose averages would have the same names, letter
// case aside since file systems may ignore it.
func distinctNames(people []person) error {
	for i, p := range people {
		for _, q := range people[:i] {
			if strings.EqualFold(p.name, q.name) {
				return fmt.Errorf("%s and %s would both be averaged as %q: rename one", q.files(), p.files(), p.name)
			}
		}
	}
	return nil
}
