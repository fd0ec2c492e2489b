package archive

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"golang.org/x/sync/errgroup"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/topo/erp"
	"calotte/topo/recording"
)

// Load reads the average whose table is at path, with the files beside it where
// a JSON describes them, and returns the paths of all that it read. A table
// without a JSON is taken for µV and named after its file; clock places the rows
// of one without times.
func Load(path string, clock erp.Clock) (a *erp.Average, read []string, err error) {
	if err := checkPath(path); err != nil {
		return nil, nil, err
	}
	data, err := disk.ReadFile(path)
	if err != nil {
		return nil, nil, err
	}
	if recording.Recognize(data) {
		return nil, nil, fmt.Errorf("%s is a recording, not an average: average it first (calotte average)", path)
	}
	if kind := disk.Describe(data); kind != "" {
		return nil, nil, fmt.Errorf("%s is %s, not an average: give its table, such as STEM_COND_average.tsv", path, kind)
	}
	a = &erp.Average{}
	if a.Sites, a.Times, a.Mean, err = erp.ReadTable(bytes.NewReader(data), clock); err != nil {
		return nil, nil, fmt.Errorf("%s: %w", path, err)
	}
	if stem, named := strings.CutSuffix(path, tableSuffix); named {
		s := set{a, stem, []string{path}}
		if described, err := s.load(Hash(data)); err != nil {
			return nil, nil, err
		} else if described {
			return a, s.read, nil
		}
	}
	if err := erp.CheckMicrovolts(a.Mean); err != nil {
		return nil, nil, fmt.Errorf("%s: %w", path, err)
	}
	a.Info = erp.Info{
		Kind:  erp.Table,
		Rate:  math.Round(a.Rate()*1e6) / 1e6, // times are rounded, so their quotient is
		Files: []erp.Source{{Name: filepath.Base(path), SHA256: Hash(data)}},
	}
	a.Info.Name, a.Info.Condition = guess(filepath.Base(path))
	return a, []string{path}, nil
}

// LoadAll loads several averages side by side, in their order. Of several errors it returns
// that of the first path.
func LoadAll(paths []string, clock erp.Clock) (averages []*erp.Average, read []string, err error) {
	averages = make([]*erp.Average, len(paths))
	files, errs := make([][]string, len(paths)), make([]error, len(paths))
	var group errgroup.Group
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i, path := range paths {
		group.Go(func() error {
			averages[i], files[i], errs[i] = Load(path, clock)
			return nil
		})
	}
	group.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, nil, err
		}
	}
	return averages, slices.Concat(files...), nil
}

// checkPath refuses the other files of a set.
func checkPath(path string) error {
	for _, other := range []struct{ suffix, what string }{
		{semSuffix, "holds standard errors, not an average"},
		{pairsSuffix, "holds left-right differences, not an average"},
		{infoSuffix, "describes an average"},
	} {
		if stem, ok := strings.CutSuffix(path, other.suffix); ok {
			return fmt.Errorf("%s %s: give the table beside it, %s", path, other.what, filepath.Base(stem)+tableSuffix)
		}
	}
	return nil
}

// guess takes name and condition from the file's name: the condition stands
// behind the last underscore, as in files of this package.
func guess(base string) (name, condition string) {
	stem, named := strings.CutSuffix(base, tableSuffix)
	if !named {
		stem = strings.TrimSuffix(base, filepath.Ext(base))
		return stem, stem
	}
	if i := strings.LastIndexByte(stem, '_'); i > 0 {
		return stem[:i], stem[i+1:]
	}
	return stem, stem
}

// A set is the files of an average that has a JSON.
type set struct {
	average *erp.Average // its table is read
	stem    string       // path that all files begin with
	read    []string
}

// load reads the JSON, if there is one, and the tables that it lists.
func (s *set) load(tableHash string) (described bool, err error) {
	path := s.stem + infoSuffix
	text, err := disk.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	s.read = append(s.read, path)
	restore := func(err error) error {
		return fmt.Errorf("%s: %w: restore the file that was written with the table, or rename the table to use it alone", path, err)
	}
	if err := json.Unmarshal(text, &s.average.Info); err != nil {
		return false, restore(err)
	}
	if listed, ok := s.listed(tableSuffix); !ok || listed.SHA256 != tableHash {
		return false, fmt.Errorf("%s is not the table that %s describes: restore it, or give the changed table a name that does not end in %s",
			s.stem+tableSuffix, filepath.Base(path), tableSuffix)
	}
	if err := s.average.Info.Validate(); err != nil {
		return false, restore(err)
	}
	if err := s.loadErrors(); err != nil {
		return false, err
	}
	return true, s.loadPairs()
}

// listed returns the entry of the JSON for the file with a suffix.
func (s *set) listed(suffix string) (erp.Source, bool) {
	i := slices.IndexFunc(s.average.Info.Files, func(f erp.Source) bool { return strings.HasSuffix(f.Name, suffix) })
	if i < 0 {
		return erp.Source{}, false
	}
	return s.average.Info.Files[i], true
}

func (s *set) loadErrors() error {
	sites, values, err := s.table(semSuffix)
	if err == nil && values != nil && !slices.Equal(sites, s.average.Sites) {
		err = fmt.Errorf("%s has other sites than the average: average again", s.stem+semSuffix)
	}
	s.average.SEM = values
	return err
}

func (s *set) loadPairs() error {
	columns, values, err := s.table(pairsSuffix)
	if err != nil {
		return err
	}
	p := &s.average.Pairs
	for i, c := range columns {
		if strings.HasSuffix(c, semColumn) {
			p.SEM = append(p.SEM, values[i])
			continue
		}
		p.Names, p.Mean = append(p.Names, c), append(p.Mean, values[i])
	}
	if p.SEM != nil && len(p.SEM) != len(p.Names) {
		return fmt.Errorf("%s has %s and errors of %d: average again", s.stem+pairsSuffix, console.Plural(len(p.Names), "pair", "pairs"), len(p.SEM))
	}
	return nil
}

// table reads a file that the JSON lists, unchanged and with the samples of the
// average; nothing where the JSON does not list it.
func (s *set) table(suffix string) (columns []string, values [][]float64, err error) {
	listed, ok := s.listed(suffix)
	if !ok {
		return nil, nil, nil
	}
	path := s.stem + suffix
	data, err := disk.ReadFile(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, nil, fmt.Errorf("%s is missing: restore it, or rename %s to use it alone", path, filepath.Base(s.stem)+tableSuffix)
	case err != nil:
		return nil, nil, err
	case Hash(data) != listed.SHA256:
		return nil, nil, fmt.Errorf("%s has changed since it was written: average again, or rename %s to use it alone", path, filepath.Base(s.stem)+tableSuffix)
	}
	s.read = append(s.read, path)
	columns, times, values, err := erp.ReadTable(bytes.NewReader(data), erp.Clock{})
	if err == nil && len(times) != len(s.average.Times) {
		err = fmt.Errorf("%s, the average has %d: average again", console.Plural(len(times), "sample", "samples"), len(s.average.Times))
	}
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", path, err)
	}
	return columns, values, nil
}

// ReadInfo reads what the JSON beside an average's table says of it, without the table.
func ReadInfo(path string) (erp.Info, error) {
	text, err := disk.ReadFile(describing(path))
	if err != nil {
		return erp.Info{}, err
	}
	return ParseInfo(describing(path), text)
}

// ParseInfo reads the text of such a JSON; its path is for errors.
func ParseInfo(path string, text []byte) (info erp.Info, err error) {
	if err = json.Unmarshal(text, &info); err == nil {
		err = info.Validate()
	}
	if err != nil {
		return info, fmt.Errorf("%s: %w: restore the file that was written with the table", path, err)
	}
	return info, nil
}
