// Package archive keeps averages on disk. An average is a set of files:
//
//	STEM_COND_average.tsv    time, then a column a site, µV
//	STEM_COND_sem.tsv        the standard errors, same shape
//	STEM_COND_pairs.tsv      time, then right minus left and its error a pair
//	STEM_COND_epochs.npy     the epochs, where they are kept: epoch × site × sample, µV
//	STEM_COND_epochs.tsv     what became of each event
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
	"path/filepath"
	"slices"

	"calotte/cmd/internal/disk"
	"calotte/topo/erp"
)

const (
	tableSuffix = "_average.tsv"
	infoSuffix  = "_average.json"
	semSuffix   = "_sem.tsv"
	pairsSuffix = "_pairs.tsv"
	semColumn   = "_sem" // behind a pair's name
)

// Paths are the files that Save may write for a stem.
func Paths(dir, stem string) []string {
	var paths []string
	for _, suffix := range []string{tableSuffix, semSuffix, pairsSuffix, epochsSuffix, indexSuffix, infoSuffix} {
		paths = append(paths, filepath.Join(dir, stem+suffix))
	}
	return paths
}

// Save queues the files of an average and returns the path of its table. Name
// and condition become part of the files' names and must be fit for it. The JSON lists
// the files of its epochs, too, that a [Keeper] has queued.
func Save(files *disk.Files, dir string, a *erp.Average, kept ...erp.Source) (string, error) {
	stem := Stem(a.Info.Name, a.Info.Slug())
	if err := CheckStem(stem); err != nil {
		return "", err
	}
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
	info.Files = append(info.Files, kept...)
	for _, path := range Paths(dir, stem) {
		base := filepath.Base(path)
		written := func(f erp.Source) bool { return f.Name == base }
		if base != stem+infoSuffix && !slices.ContainsFunc(info.Files, written) {
			files.Drop(path)
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
