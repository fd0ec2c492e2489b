package averages

import (
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/session"
	"calotte/topo/erp/average"
	"calotte/topo/erp/montage"
	"calotte/topo/erp/store"
	"calotte/topo/provenance"
	"calotte/topo/unit"
)

// A Clock places the rows of a table that has no time column.
type Clock struct {
	Rate  unit.Frequency
	first unit.Time
}

// Register adds the flags.
func (k *Clock) Register(c *cobra.Command) {
	c.Flags().Var(&k.Rate, "rate", "sampling rate of a table without a time column")
	session.Optional(c.Flags(), "rate")
	k.RegisterFirst(c)
}

// RegisterFirst adds the flags but --rate, which the verb has already.
func (k *Clock) RegisterFirst(c *cobra.Command) {
	c.Flags().Var(&k.first, "first", "time of the first row of a table without a time column")
	session.Optional(c.Flags(), "first")
}

// Tables are averages and where they were read from.
type Tables struct {
	Averages []*average.Average
	Paths    []string // of each average's table, as given
	Files    []string // all files that were read, never to be written to

	reference montage.Reference // that was asked for
	folders   []string          // in which the people behind grand averages are looked for
	shelf     *archive.Shelf    // of averages that were read
}

// Load reads what is needed of the averages at the given paths, each one once.
func (k *Clock) Load(a *session.Session, c *cobra.Command, paths []string, need store.Need) (*Tables, error) {
	switch rate := c.Flags().Changed("rate"); {
	case rate && k.Rate <= 0:
		return nil, console.Usagef("--rate %v: expected a positive rate such as 250Hz", k.Rate)
	case !rate && c.Flags().Changed("first"):
		return nil, console.Usagef("--first needs --rate, for a table without a time column")
	}
	if err := disk.Distinct(paths); err != nil {
		return nil, err
	}
	averages, files, err := a.Shelf.LoadAll(paths, average.Clock{Rate: float64(k.Rate), First: float64(k.first)},
		need)
	if err != nil {
		return nil, err
	}
	return &Tables{Averages: averages, Paths: paths, Files: files, shelf: a.Shelf}, nil
}

// Sources is the tables that averages were read from.
func Sources(averages []*average.Average) []provenance.Source {
	var out []provenance.Source
	for _, a := range averages {
		out = append(out, a.Info.Files[0])
	}
	return out
}

// Titles names each average by what tells it from the others: condition, name,
// or both, and where these are alike the file or its folder.
func (t *Tables) Titles() ([]string, error) {
	sameName, sameCondition := true, true
	for _, a := range t.Averages {
		sameName = sameName && a.Info.Name == t.Averages[0].Info.Name
		sameCondition = sameCondition && a.Info.Title() == t.Averages[0].Info.Title()
	}
	texts := make([]string, len(t.Averages))
	for i, a := range t.Averages {
		switch {
		case sameName || a.Info.Name == a.Info.Title(): // a table of its own is named after its file
			texts[i] = a.Info.Title()
		case sameCondition:
			texts[i] = a.Info.Name + ", " + a.Info.Title()
		default:
			texts[i] = a.Info.Title() + ", " + a.Info.Name
		}
	}
	return t.tellApart(texts,
		func(i int, text string) string {
			base := filepath.Base(t.Paths[i])
			return text + ", " + strings.TrimSuffix(base, filepath.Ext(base))
		},
		func(i int, text string) string { return text + ", " + folder(t.Paths[i]) })
}

// Origins names the file of each average, with its folder where files of one
// name were given.
func (t *Tables) Origins() ([]string, error) {
	texts := make([]string, len(t.Paths))
	for i, path := range t.Paths {
		texts[i] = filepath.Base(path)
	}
	return t.tellApart(texts, func(i int, text string) string { return folder(t.Paths[i]) + "/" + text })
}

// folder is the name of the folder that a file lies in.
func folder(path string) string {
	if whole, err := filepath.Abs(path); err == nil {
		path = whole
	}
	return filepath.Base(filepath.Dir(path))
}

// tellApart puts in the place of equal texts what the first of the given ways
// that tells them apart makes of them.
func (t *Tables) tellApart(texts []string, ways ...func(i int, text string) string) ([]string, error) {
	alike := map[string][]int{}
	for i, text := range texts {
		alike[text] = append(alike[text], i)
	}
	out := make([]string, len(texts))
	copy(out, texts)
	for _, text := range texts {
		if set := alike[text]; len(set) > 1 && !apart(out, set, text, ways) {
			return nil, fmt.Errorf("%s and %s would both be named %q: rename one of them", t.Paths[set[0]],
				t.Paths[set[1]], text)
		}
	}
	return out, nil
}

// apart fills in the texts of a set by the first way that gives no two alike.
func apart(out []string, set []int, text string, ways []func(i int, text string) string) bool {
	for _, way := range ways {
		seen := map[string]bool{}
		for _, i := range set {
			out[i] = way(i, text)
			seen[out[i]] = true
		}
		if len(seen) == len(set) {
			return true
		}
	}
	return false
}

// CheckStem refuses what --name cannot be.
func CheckStem(name string) error {
	if err := archive.CheckStem(name); err != nil {
		return console.Usagef("--name %w", err)
	}
	return nil
}

// DifferencesLast moves differences behind the conditions that they are of.
func (t *Tables) DifferencesLast() {
	var averages, differences []*average.Average
	var paths, behind []string
	for i, a := range t.Averages {
		if a.Info.Minus == "" {
			averages, paths = append(averages, a), append(paths, t.Paths[i])
		} else {
			differences, behind = append(differences, a), append(behind, t.Paths[i])
		}
	}
	t.Averages, t.Paths = append(averages, differences...), append(paths, behind...)
}
