package store

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"calotte/topo/erp/average"
	"calotte/topo/provenance"
)

// A Sink takes the files of an average, in the order in which they are to be
// written.
type Sink interface {
	// Put takes a file.
	Put(name string, content []byte)
	// Drop removes a file that an earlier average of the same stem left,
	// and this one does not have.
	Drop(name string)
}

// Files is a Sink in memory: contents by name. Who writes them writes the JSON
// last.
type Files map[string][]byte

// Put implements Sink.
func (f Files) Put(name string, content []byte) { f[name] = content }

// Drop implements Sink.
func (f Files) Drop(name string) { delete(f, name) }

// semColumn stands behind a pair's name.
const semColumn = "_sem"

// Save gives the files of an average to a sink, and returns the name of its
// table. Name and condition become the files' names. Kept are the files of its
// epochs, which are written apart: the JSON lists them, too.
func Save(to Sink, a *average.Average, kept ...provenance.Source) (table string, err error) {
	stem := Stem(a.Info.Name, a.Info.Slug())
	if strings.ContainsAny(stem, `/\`) {
		return "", fmt.Errorf("%q cannot begin a file's name: use letters, digits and - _ . +", stem)
	}
	info := a.Info
	info.Files = nil
	put := func(suffix string, columns []string, values [][]float64) error {
		var b bytes.Buffer
		if err := average.WriteTable(&b,
			average.Waveforms{Sites: columns, Times: a.Times, Values: values}); err != nil {
			return err
		}
		info.Files = append(info.Files, provenance.SourceOf(stem+suffix, b.Bytes()))
		to.Put(stem+suffix, b.Bytes())
		return nil
	}
	if err := put(TableSuffix, a.Sites, a.Mean); err != nil {
		return "", err
	}
	if a.SEM != nil {
		if err := put(SEMSuffix, a.Sites, a.SEM); err != nil {
			return "", err
		}
	}
	if columns, values := pairColumns(a.Pairs); columns != nil {
		if err := put(PairsSuffix, columns, values); err != nil {
			return "", err
		}
	}
	info.Files = append(info.Files, kept...)
	for _, name := range Names(stem) {
		written := func(f provenance.Source) bool { return f.Name == name }
		if name != stem+InfoSuffix && !slices.ContainsFunc(info.Files, written) {
			to.Drop(name)
		}
	}
	text, err := json.MarshalIndent(info, "", "  ")
	if err != nil {
		return "", err
	}
	to.Put(stem+InfoSuffix, append(text, '\n'))
	return stem + TableSuffix, nil
}

// pairColumns lays each pair's error beside it.
func pairColumns(p average.Pairs) (columns []string, values [][]float64) {
	for i, name := range p.Names {
		columns, values = append(columns, name), append(values, p.Mean[i])
		if p.SEM != nil {
			columns, values = append(columns, name+semColumn), append(values, p.SEM[i])
		}
	}
	return columns, values
}
