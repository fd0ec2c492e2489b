package store

import (
	"path"
	"strings"
)

// What the names of an average's files end in, behind their stem.
const (
	TableSuffix  = "_average.tsv"
	SEMSuffix    = "_sem.tsv"
	PairsSuffix  = "_pairs.tsv"
	EpochsSuffix = "_epochs.npy"
	IndexSuffix  = "_epochs.tsv"
	InfoSuffix   = "_average.json"
)

// suffixes are those of all files of a set, the JSON last.
var suffixes = [...]string{TableSuffix, SEMSuffix, PairsSuffix, EpochsSuffix, IndexSuffix, InfoSuffix}

// Stem is what the names of an average's files begin with.
func Stem(name, condition string) string { return name + "_" + condition }

// Names are the files that an average may have, in the order in which they are
// written.
func Names(stem string) []string {
	var names []string
	for _, suffix := range suffixes {
		names = append(names, stem+suffix)
	}
	return names
}

// Description is the JSON that belongs to a file, by its name: that of the
// average, or, beside any other table, that of the same stem.
func Description(name string) string {
	for _, suffix := range suffixes {
		if stem, ok := strings.CutSuffix(name, suffix); ok {
			return stem + InfoSuffix
		}
	}
	return strings.TrimSuffix(name, path.Ext(name)) + ".json"
}
