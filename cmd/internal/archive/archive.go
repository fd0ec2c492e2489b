// Package archive keeps averages on disk. An average is a set of files:
//
//	STEM_COND_average.tsv    time, then a column a site, µV
//	STEM_COND_sem.tsv        the standard errors, same shape
//	STEM_COND_pairs.tsv      time, then right minus left and its error a pair
//	STEM_COND_average.json   what is known beside the numbers, and their SHA-256
//
// The JSON is written last, so that a set with one is whole. Errors are missing
// where they are not known. A table made elsewhere is read without a JSON.
package archive

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"calotte/cmd/internal/console"
	"calotte/topo/erp"
)

const (
	tableSuffix = "_average.tsv"
	infoSuffix  = "_average.json"
	semSuffix   = "_sem.tsv"
	pairsSuffix = "_pairs.tsv"
	semColumn   = "_sem" // behind a pair's name
)

// Stem is the beginning of an average's file names.
func Stem(name, condition string) string { return name + "_" + condition }

// Paths are the files that Save may write for a stem.
func Paths(dir, stem string) []string {
	var paths []string
	for _, suffix := range []string{tableSuffix, semSuffix, pairsSuffix, infoSuffix} {
		paths = append(paths, filepath.Join(dir, stem+suffix))
	}
	return paths
}

// Save queues the files of an average and returns the path of its table.
func Save(files *console.Files, dir string, a *erp.Average) (string, error) {
	stem := Stem(a.Info.Name, a.Info.Slug())
	info := a.Info
	info.Files = nil
	put := func(suffix string, columns []string, values [][]float64) error {
		var b bytes.Buffer
		if err := erp.WriteTable(&b, columns, a.Times, values); err != nil {
			return err
		}
		info.Files = append(info.Files, erp.Source{Name: stem + suffix, SHA256: Hash(b.Bytes())})
		files.Put(filepath.Join(dir, stem+suffix), b.Bytes())
		return nil
	}
	if err := put(tableSuffix, a.Sites, a.Mean); err != nil {
		return "", err
	}
	if a.SEM != nil {
		if err := put(semSuffix, a.Sites, a.SEM); err != nil {
			return "", err
		}
	}
	if columns, values := pairColumns(a.Pairs); columns != nil {
		if err := put(pairsSuffix, columns, values); err != nil {
			return "", err
		}
	}
	text, err := json.MarshalIndent(info, "", "  ")
	if err != nil {
		return "", err
	}
	files.Put(filepath.Join(dir, stem+infoSuffix), append(text, '\n'))
	return filepath.Join(dir, stem+tableSuffix), nil
}

// pairColumns lays each pair's error beside it.
func pairColumns(p erp.Pairs) (columns []string, values [][]float64) {
	for i, name := range p.Names {
		columns, values = append(columns, name), append(values, p.Mean[i])
		if p.SEM != nil {
			columns, values = append(columns, name+semColumn), append(values, p.SEM[i])
		}
	}
	return columns, values
}

// Hash is the SHA-256 of data in hexadecimal.
func Hash(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// Load reads the average whose table is at path, with the files beside it where
// a JSON describes them.
func Load(path string, clock erp.Clock) (*erp.Average, error) {
	for suffix, what := range map[string]string{semSuffix: "standard errors", pairsSuffix: "left-right differences"} {
		if stem, ok := strings.CutSuffix(path, suffix); ok {
			return nil, fmt.Errorf("%s holds %s, not an average: give %s", path, what, filepath.Base(stem)+tableSuffix)
		}
	}
	if stem, ok := strings.CutSuffix(path, infoSuffix); ok {
		return nil, fmt.Errorf("%s describes an average: give the table beside it, %s", path, filepath.Base(stem)+tableSuffix)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	a := &erp.Average{}
	if a.Sites, a.Times, a.Mean, err = erp.ReadTable(bytes.NewReader(data), clock); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	table := erp.Source{Name: filepath.Base(path), SHA256: Hash(data)}
	stem, standard := strings.CutSuffix(path, tableSuffix)
	if standard {
		text, err := os.ReadFile(stem + infoSuffix)
		if err == nil {
			return a, loadInfo(a, stem, table, text)
		}
		if !os.IsNotExist(err) {
			return nil, err
		}
	}
	if err := erp.CheckMicrovolts(a.Mean); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	a.Info = erp.Info{Kind: erp.Table, Reference: "not known", Baseline: "not known", Filters: "not known", Rate: a.Rate(), Files: []erp.Source{table}}
	a.Info.Name, a.Info.Condition = guess(filepath.Base(path))
	return a, nil
}

// guess takes name and condition from the file's name: the condition stands
// behind the last underscore, as in files of this package.
func guess(base string) (name, condition string) {
	stem := strings.TrimSuffix(base, tableSuffix)
	if stem == base {
		stem = strings.TrimSuffix(base, filepath.Ext(base))
		return stem, stem
	}
	if i := strings.LastIndexByte(stem, '_'); i > 0 {
		return stem[:i], stem[i+1:]
	}
	return stem, stem
}

func loadInfo(a *erp.Average, stem string, table erp.Source, text []byte) error {
	path := stem + infoSuffix
	if err := json.Unmarshal(text, &a.Info); err != nil {
		return fmt.Errorf("%s: %w: expected the file that calotte wrote; restore it, or rename the table to use it alone", path, err)
	}
	if !lists(a.Info.Files, table) {
		return fmt.Errorf("%s is not the table that %s describes: restore it, or give the changed table a name that does not end in %s",
			table.Name, filepath.Base(path), tableSuffix)
	}
	for _, f := range a.Info.Files {
		var err error
		switch {
		case strings.HasSuffix(f.Name, semSuffix):
			_, a.SEM, err = loadBeside(a, stem+semSuffix)
			if err == nil && len(a.SEM) != len(a.Sites) {
				err = fmt.Errorf("%s has %d sites, the average %d", f.Name, len(a.SEM), len(a.Sites))
			}
		case strings.HasSuffix(f.Name, pairsSuffix):
			err = loadPairs(a, stem+pairsSuffix)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func loadPairs(a *erp.Average, path string) error {
	columns, values, err := loadBeside(a, path)
	if err != nil {
		return err
	}
	for i, c := range columns {
		if strings.HasSuffix(c, semColumn) {
			a.Pairs.SEM = append(a.Pairs.SEM, values[i])
			continue
		}
		a.Pairs.Names = append(a.Pairs.Names, c)
		a.Pairs.Mean = append(a.Pairs.Mean, values[i])
	}
	return nil
}

func lists(files []erp.Source, f erp.Source) bool {
	for _, g := range files {
		if g.SHA256 == f.SHA256 {
			return true
		}
	}
	return false
}

// loadBeside reads a table that the JSON lists, unchanged and with the samples
// of the average.
func loadBeside(a *erp.Average, path string) (columns []string, values [][]float64, err error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, nil, err
	}
	if !lists(a.Info.Files, erp.Source{SHA256: Hash(data)}) {
		return nil, nil, fmt.Errorf("%s has changed since it was written: average again, or rename the average's table to use it alone", path)
	}
	columns, times, values, err := erp.ReadTable(bytes.NewReader(data), erp.Clock{})
	if err == nil && len(times) != len(a.Times) {
		err = fmt.Errorf("%d samples, the average has %d", len(times), len(a.Times))
	}
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", path, err)
	}
	return columns, values, nil
}
