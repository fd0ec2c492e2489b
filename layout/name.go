package layout

import (
	"strings"
	"sync"
)

// A Name is a site, ear, mastoid or landmark in the spelling of the American
// Clinical Neurophysiology Society's guideline 2 (2016): "T7", never "T3".
// Names come from [Parse] or from the sets.
type Name string

// A Kind says what a name stands for.
type Kind int

const (
	Unknown  Kind = iota // not a name of this package
	Scalp                // a site that the proportional rules place, Nz and Iz included
	Ear                  // an earlobe, A1 or A2
	Mastoid              // M1 or M2
	Landmark             // a preauricular point, LPA or RPA
)

func (k Kind) String() string {
	switch k {
	case Scalp:
		return "scalp site"
	case Ear:
		return "earlobe"
	case Mastoid:
		return "mastoid"
	case Landmark:
		return "landmark"
	}
	return "unknown"
}

// offScalp lists the names that are not sites of the 10-5 system.
var offScalp = [...]struct {
	name Name
	kind Kind
}{
	{"A1", Ear}, {"A2", Ear},
	{"M1", Mastoid}, {"M2", Mastoid},
	{"LPA", Landmark}, {"RPA", Landmark},
}

// aliases are other spellings, folded. The first four are the 10-20 system's
// names before 1991 (Klem et al. 1999); the landmarks' are those of BIDS and of
// common practice, no source.
var aliases = [...]struct {
	folded string
	name   Name
}{
	{"t3", "T7"}, {"t4", "T8"}, {"t5", "P7"}, {"t6", "P8"},
	{"nas", "Nz"}, {"nasion", "Nz"}, {"ini", "Iz"}, {"inion", "Iz"},
}

// A registry finds names by their folded spelling.
type registry struct {
	byFolded map[string]Name // aliases included
	kinds    map[Name]Kind
	ordered  []Name // coarser systems first, each once
}

var names = sync.OnceValue(func() *registry {
	r := &registry{byFolded: map[string]Name{}, kinds: map[Name]Kind{}}
	add := func(n Name, k Kind) {
		if _, known := r.kinds[n]; known {
			return
		}
		r.byFolded[Fold(string(n))] = n
		r.kinds[n] = k
		r.ordered = append(r.ordered, n)
	}
	for _, set := range [][]Name{Set1020(), Set1010(), Set1005()} {
		for _, n := range set {
			add(n, Scalp)
		}
	}
	for _, o := range offScalp {
		add(o.name, o.kind)
	}
	for _, a := range aliases {
		r.byFolded[a.folded] = a.name
	}
	return r
})

// Fold drops blanks and trailing dots and lowers ASCII letters. Other letters
// stay as they are, so that a dotted capital I is not taken for an I.
func Fold(label string) string {
	label = strings.Map(func(r rune) rune {
		switch {
		case r == ' ' || r == '\t' || r == '\u00a0':
			return -1
		case 'A' <= r && r <= 'Z':
			return r + 'a' - 'A'
		}
		return r
	}, label)
	return strings.TrimRight(label, ".")
}

// Spelled is how tables and figures write an electrode that a file names so: the
// standard's letters, FC5 for "Fc5.", while an older name stays, T3 for "t3".
// What is no name of this package stays as it is, without dots and blanks at
// its ends.
func Spelled(label string) string {
	bare := strings.TrimRight(strings.TrimSpace(label), ".")
	name, err := Parse(label)
	switch {
	case err != nil:
		return bare
	case Fold(label) == Fold(string(name)):
		return string(name)
	case name.Kind() == Scalp && len(bare) == 2:
		return strings.ToUpper(bare)
	}
	return bare
}

// Parse finds the name that a label stands for. It ignores case, blanks and
// trailing dots, and takes the older T3, T4, T5 and T6 for T7, T8, P7 and P8. A
// label that stands for no name gives an [*UnknownError], which knows the
// nearest names; Parse never guesses.
func Parse(label string) (Name, error) {
	if n, ok := names().byFolded[Fold(label)]; ok {
		return n, nil
	}
	return "", &UnknownError{label}
}

// Kind says whether n is a scalp site, an earlobe, a mastoid or a landmark.
func (n Name) Kind() Kind { return names().kinds[n] }

// String returns n as it is.
func (n Name) String() string { return string(n) }
