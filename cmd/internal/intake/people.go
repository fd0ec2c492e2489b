package intake

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

// A Person is the recordings that are averaged together, and the name that
// their averages get.
type Person struct {
	Name       string
	Recordings []*Recording
}

// Files names the person's recordings for an error.
func (p Person) Files() string {
	texts := make([]string, len(p.Recordings))
	for i, r := range p.Recordings {
		texts[i] = r.Path
	}
	return strings.Join(texts, ", ")
}

// Locate gives an error the path of the recording that it is about, or those of
// all.
func (p Person) Locate(err error) error {
	var one *erp.RecordingError
	if errors.As(err, &one) {
		for _, r := range p.Recordings {
			if filepath.Base(r.Path) == one.Name {
				return fmt.Errorf("%s: %w", r.Path, one.Err)
			}
		}
	}
	return fmt.Errorf("%s: %w", p.Files(), err)
}

// Sources waits for the hashes of the person's recordings.
func (p Person) Sources() ([]provenance.Source, error) {
	var out []provenance.Source
	for _, r := range p.Recordings {
		s, err := r.source()
		if err != nil {
			return nil, err
		}
		out = append(out, s)
		for _, path := range r.Sidecars {
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

// Inputs are the recordings for the pipeline.
func (p Person) Inputs() []erp.Input {
	inputs := make([]erp.Input, len(p.Recordings))
	for i, r := range p.Recordings {
		inputs[i] = r.Input()
	}
	return inputs
}

// An identity is what a recording says of whose it is: the sub- label of the
// file's name and the code in the patient field, and of which session, each
// empty where it is not there. The code is for comparing, not for showing.
type identity struct{ label, session, code string }

var participantLabel = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`^(sub-[0-9A-Za-z]+)(?:_(ses-[0-9A-Za-z]+))?`)
})

func identify(r *Recording) identity {
	id := identity{code: r.PatientCode()}
	if found := participantLabel().FindStringSubmatch(filepath.Base(r.Path)); found != nil {
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

// ByPerson groups recordings by what they say of whose they are, in the order
// in which they are given. A recording that says nothing is a group of its own.
// It is an error when labels say one thing and codes another.
func ByPerson(recordings []*Recording) ([]Person, error) {
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
	var people []Person
	for i, first := range group {
		if first != i {
			continue
		}
		var p Person
		for j, r := range recordings {
			if group[j] == i {
				p.Recordings = append(p.Recordings, r)
			}
		}
		if err := p.agree(); err != nil {
			return nil, err
		}
		p.Name = p.label()
		people = append(people, p)
	}
	return people, nil
}

// agree refuses recordings that are of one person by some of their labels and
// codes and of several by others.
func (p Person) agree() error {
	for i, r := range p.Recordings {
		for _, o := range p.Recordings[:i] {
			a, b := identify(o), identify(r)
			if !a.differs(b) {
				continue
			}
			one, two := "the codes in their patient fields", "the sub- labels of their names"
			if a.label == b.label || a.label == "" || b.label == "" {
				one, two = two, one
			}
			return fmt.Errorf("%s and %s are of one person by %s and of two by %s: correct what is "+
				"wrong (X in the "+
				"patient field: not known)", o.Path, r.Path, one, two)
		}
	}
	return nil
}

// label is what the person's averages are called: the participant's label, or
// the name of the first recording without its ending.
func (p Person) label() string {
	for _, r := range p.Recordings {
		if name := identify(r).name(); name != "" {
			return name
		}
	}
	base := filepath.Base(p.Recordings[0].Path)
	return archive.FitStem(strings.TrimSuffix(base, filepath.Ext(base)))
}

// Silent reports whether no recording says anything of whose it is.
func Silent(recordings []*Recording) bool {
	return !slices.ContainsFunc(recordings, func(r *Recording) bool { return identify(r) != identity{} })
}

// Pool returns the people to average. Without each, all recordings are one
// person's: recordings that say otherwise are refused, and those that say
// nothing are taken together.
func Pool(recordings []*Recording, each bool) ([]Person, error) {
	people, err := ByPerson(recordings)
	switch {
	case err != nil:
		return nil, err
	case each:
		return people, distinctNames(people)
	case Silent(recordings):
		return []Person{{people[0].Name, recordings}}, nil
	case len(people) > 1 && !sessionsOfOne(people):
		a, b := people[0].Recordings[0], people[1].Recordings[0]
		what := "nothing says that %s and %s are of one person"
		if identify(a).differs(identify(b)) {
			what = "%s and %s are of different people"
		}
		return nil, console.Usagef(what+": average each person's alone, or add --each", a.Path, b.Path)
	}
	return people, nil
}

// sessionsOfOne reports whether all are one person, in sessions that are
// averaged apart.
func sessionsOfOne(people []Person) bool {
	first := identify(people[0].Recordings[0])
	return !slices.ContainsFunc(people, func(p Person) bool {
		id := identify(p.Recordings[0])
		return id.session == "" || !id.isPerson(first)
	})
}

// distinctNames refuses people whose averages would have the same names, letter
// case aside since file systems may ignore it.
func distinctNames(people []Person) error {
	for i, p := range people {
		for _, q := range people[:i] {
			if strings.EqualFold(p.Name, q.Name) {
				return fmt.Errorf("%s and %s would both be averaged as %q: rename one", q.Files(),
					p.Files(),
					p.Name)
			}
		}
	}
	return nil
}
