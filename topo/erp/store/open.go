package store

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"path"
	"slices"
	"strings"

	"calotte/topo/erp/average"
	"calotte/topo/provenance"
	"calotte/topo/recording"
)

// Open reads the average whose table has this name, with the files beside it
// where a JSON describes them: standard errors and pairs, unchanged since they
// were written. A table without a JSON is taken for µV and named after its
// file. Faults of a file are of type *[Error]; those of the file system come as
// they are.
func Open(fsys fs.FS, name string) (*average.Average, error) {
	return OpenTable(fsys, name, average.Clock{}, Everything)
}

// A Need is what of an average is asked for.
type Need int

const (
	Everything Need = iota
	// Means are an average without standard errors and right minus left.
	// That their files are unchanged is looked at, but they are not read
	// into numbers, which takes two thirds of the time and of the memory.
	Means
)

// OpenTable is Open of what is needed of a table that may have no times: a
// clock places its rows.
func OpenTable(fsys fs.FS, name string, clock average.Clock, need Need) (*average.Average, error) {
	if err := checkName(name); err != nil {
		return nil, err
	}
	data, err := fs.ReadFile(fsys, name)
	if err != nil {
		return nil, err
	}
	if recording.Recognize(data) {
		return nil, &Error{Name: name,
			Problem: "is a recording, not an average: average it first (calotte average)"}
	}
	read, err := average.ReadTable(bytes.NewReader(data), clock)
	if err != nil {
		return nil, &Error{Name: name, Err: err}
	}
	a := &average.Average{Sites: read.Sites, Times: read.Times, Mean: read.Values}
	table := provenance.SourceOf(path.Base(name), data)
	if stem, named := strings.CutSuffix(name, TableSuffix); named {
		s := set{fsys, a, stem, need}
		if described, err := s.load(table.SHA256); err != nil {
			return nil, err
		} else if described {
			return a, nil
		}
	}
	if err := average.CheckMicrovolts(a.Mean); err != nil {
		return nil, &Error{Name: name, Err: err}
	}
	a.Info = average.Info{
		Kind:  average.Table,
		Rate:  math.Round(a.Rate()*1e6) / 1e6, // times are rounded, so their quotient is
		Files: []provenance.Source{table},
	}
	a.Info.Name, a.Info.Condition = guess(table.Name)
	return a, nil
}

// checkName refuses the other files of a set.
func checkName(name string) error {
	for _, other := range []struct{ suffix, what string }{
		{SEMSuffix, "holds standard errors, not an average"},
		{PairsSuffix, "holds left-right differences, not an average"},
		{InfoSuffix, "describes an average"},
	} {
		if stem, ok := strings.CutSuffix(name, other.suffix); ok {
			return &Error{Name: name,
				Problem: other.what + ": give the table beside it, " + path.Base(stem) + TableSuffix}
		}
	}
	return nil
}

// guess takes name and condition from the file's name: the condition stands
// behind the last underscore, as in files of this package.
func guess(base string) (name, condition string) {
	stem, named := strings.CutSuffix(base, TableSuffix)
	if !named {
		stem = strings.TrimSuffix(base, path.Ext(base))
		return stem, stem
	}
	if i := strings.LastIndexByte(stem, '_'); i > 0 {
		return stem[:i], stem[i+1:]
	}
	return stem, stem
}

// ReadInfo reads what the JSON beside a file of an average says of it, without
// the table.
func ReadInfo(fsys fs.FS, name string) (average.Info, error) {
	name = Description(name)
	text, err := fs.ReadFile(fsys, name)
	if err != nil {
		return average.Info{}, err
	}
	return ParseInfo(name, text)
}

// ParseInfo reads the text of such a JSON; its name is for errors.
func ParseInfo(name string, text []byte) (info average.Info, err error) {
	if err = json.Unmarshal(text, &info); err == nil {
		err = info.Validate()
	}
	if err != nil {
		return info, &Error{Name: name,
			Err: fmt.Errorf("%w: restore the file that was written with the table", err)}
	}
	return info, nil
}

// A set is the files of an average that has a JSON.
type set struct {
	fsys    fs.FS
	average *average.Average // its table is read
	stem    string           // that all names begin with
	need    Need
}

// load reads the JSON, if there is one, and the tables that it lists.
func (s *set) load(tableHash string) (described bool, err error) {
	name := s.stem + InfoSuffix
	text, err := fs.ReadFile(s.fsys, name)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	restore := func(err error) error {
		return &Error{Name: name,
			Err: fmt.Errorf("%w: restore the file that was written with the table, or rename the table "+
				"to use it alone",
				err)}
	}
	if err := json.Unmarshal(text, &s.average.Info); err != nil {
		return false, restore(err)
	}
	if listed, ok := s.listed(TableSuffix); !ok || listed.SHA256 != tableHash {
		return false, &Error{Name: s.stem + TableSuffix,
			Problem: fmt.Sprintf("is not the table that %s describes: restore it, or give the changed "+
				"table a name "+
				"that does not end in %s",
				path.Base(name), TableSuffix)}
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
func (s *set) listed(suffix string) (provenance.Source, bool) {
	i := slices.IndexFunc(s.average.Info.Files,
		func(f provenance.Source) bool { return strings.HasSuffix(f.Name, suffix) })
	if i < 0 {
		return provenance.Source{}, false
	}
	return s.average.Info.Files[i], true
}

func (s *set) loadErrors() error {
	read, err := s.table(SEMSuffix)
	if err != nil || read == nil {
		return err
	}
	if !slices.Equal(read.Sites, s.average.Sites) {
		return &Error{Name: s.stem + SEMSuffix, Problem: "has other sites than the average: average again"}
	}
	s.average.SEM = read.Values
	return nil
}

func (s *set) loadPairs() error {
	read, err := s.table(PairsSuffix)
	if err != nil || read == nil {
		return err
	}
	p := &s.average.Pairs
	for i, c := range read.Sites {
		if strings.HasSuffix(c, semColumn) {
			p.SEM = append(p.SEM, read.Values[i])
			continue
		}
		p.Names, p.Mean = append(p.Names, c), append(p.Mean, read.Values[i])
	}
	if p.SEM != nil && len(p.SEM) != len(p.Names) {
		return &Error{Name: s.stem + PairsSuffix,
			Problem: fmt.Sprintf("has %s and errors of %d: average again", count(len(p.Names), "pair"),
				len(p.SEM))}
	}
	return nil
}

// table reads a file that the JSON lists, unchanged and with the samples of the
// average; nil where the JSON does not list it, or nobody needs it.
func (s *set) table(suffix string) (*average.Waveforms, error) {
	listed, ok := s.listed(suffix)
	if !ok {
		return nil, nil
	}
	name, alone := s.stem+suffix, path.Base(s.stem)+TableSuffix
	data, sum, err := s.content(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, &Error{Name: name,
			Problem: fmt.Sprintf("is missing: restore it, or rename %s to use it alone", alone)}
	case err != nil:
		return nil, err
	case sum != listed.SHA256:
		return nil, &Error{Name: name,
			Problem: fmt.Sprintf("has changed since it was written: average again, or rename %s to "+
				"use it alone",
				alone)}
	case s.need == Means:
		return nil, nil
	}
	read, err := average.ReadTable(bytes.NewReader(data), average.Clock{})
	if err == nil && len(read.Times) != len(s.average.Times) {
		err = fmt.Errorf("%s, the average has %d: average again", count(len(read.Times), "sample"),
			len(s.average.Times))
	}
	if err != nil {
		return nil, &Error{Name: name, Err: err}
	}
	return read, nil
}

// A Hasher is a file system that finds the SHA-256 of a file, in hexadecimal
// digits, without holding all of it.
type Hasher interface {
	SHA256(name string) (string, error)
}

// content is that of a file and its hash; of one whose numbers nobody needs the
// hash may stand alone.
func (s *set) content(name string) (data []byte, sum string, err error) {
	if h, ok := s.fsys.(Hasher); ok && s.need == Means {
		sum, err = h.SHA256(name)
		return nil, sum, err
	}
	data, err = fs.ReadFile(s.fsys, name)
	return data, provenance.SourceOf(name, data).SHA256, err
}

func count(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}
