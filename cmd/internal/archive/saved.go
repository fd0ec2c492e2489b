package archive

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"iter"
	"os"
	"path/filepath"
	"strings"

	"calotte/cmd/internal/disk"
	"calotte/topo/erp"
	"calotte/topo/recording/epochs"
)

// Saved is an open array of epochs.
type Saved struct {
	Name      string // of the person, or of the file
	Set       erp.EpochSet
	Shape     epochs.Shape
	Described bool // by the files of an average beside it
	Paths     []string
	Sources   []erp.Source
	file      *os.File
}

// Close closes the array.
func (s Saved) Close() error {
	if s.file == nil {
		return nil
	}
	return s.file.Close()
}

// OpenEpochs opens an array of epochs. Where it is one that was saved with an average,
// as its name says, the files of the average have to be there, unchanged.
func OpenEpochs(path string) (Saved, error) {
	file, _, err := disk.Open(path)
	if err != nil {
		return Saved{}, err
	}
	s, err := open(file, path)
	if err != nil {
		file.Close()
		return Saved{}, fmt.Errorf("%s: %w", path, err)
	}
	return s, nil
}

func open(file *os.File, path string) (Saved, error) {
	s := Saved{file: file, Paths: []string{path}}
	h := sha256.New()
	if _, err := io.Copy(h, file); err != nil {
		return s, err
	}
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		return s, err
	}
	r, err := epochs.NewReader(file)
	if err != nil {
		return s, err
	}
	sum := hex.EncodeToString(h.Sum(nil))
	s.Shape, s.Set.Epochs = r.Shape, fromStart(file)
	s.Sources = []erp.Source{{Name: filepath.Base(path), SHA256: sum}}
	stem, named := strings.CutSuffix(path, epochsSuffix)
	if _, err := os.Stat(stem + infoSuffix); !named || err != nil {
		base := FitStem(strings.TrimSuffix(filepath.Base(path), filepath.Ext(path)))
		s.Name, s.Set.Condition = base, "epochs"
		if i := strings.LastIndexByte(strings.TrimSuffix(base, "_epochs"), '_'); i > 0 && erp.CheckName(strings.TrimSuffix(base, "_epochs")[i+1:]) == nil {
			s.Name, s.Set.Condition = base[:i], strings.TrimSuffix(base, "_epochs")[i+1:]
		}
		return s, nil
	}
	return s, s.describe(stem, sum)
}

// fromStart are the epochs of an array, each time from the first one.
func fromStart(file io.ReadSeeker) iter.Seq2[[][]float64, error] {
	return func(yield func([][]float64, error) bool) {
		_, err := file.Seek(0, io.SeekStart)
		var r *epochs.Reader
		if err == nil {
			r, err = epochs.NewReader(file)
		}
		if err != nil {
			yield(nil, err)
			return
		}
		r.All()(yield)
	}
}

// describe takes over what the files of the average say.
func (s *Saved) describe(stem, sum string) error {
	a, read, err := Load(stem+tableSuffix, erp.Clock{})
	if err != nil {
		return err
	}
	set := set{a, stem, nil}
	listed, ok := set.listed(epochsSuffix)
	if !ok || listed.SHA256 != sum {
		return fmt.Errorf("they are not the epochs that %s describes: restore them, or give the changed file a name that does not end in %s", filepath.Base(stem)+infoSuffix, epochsSuffix)
	}
	index, ok := set.listed(indexSuffix)
	b, err := disk.ReadFile(stem + indexSuffix)
	if err != nil {
		return err
	}
	if !ok || index.SHA256 != Hash(b) {
		return fmt.Errorf("%s has changed since it was written: average again", filepath.Base(stem)+indexSuffix)
	}
	rows, err := erp.ReadIndex(bytes.NewReader(b), a.Info.Condition)
	if err != nil {
		return fmt.Errorf("%s: %w", filepath.Base(stem)+indexSuffix, err)
	}
	if s.Shape.Sites != len(a.Sites) || s.Shape.Samples != len(a.Times) {
		return fmt.Errorf("the array is %v (epoch × site × sample), the average has %d sites and %d samples: average again", s.Shape, len(a.Sites), len(a.Times))
	}
	s.Described, s.Name = true, a.Info.Name
	s.Set.Condition, s.Set.Sites, s.Set.Rows, s.Set.Info = a.Info.Condition, a.Sites, rows, a.Info
	s.Set.Window = erp.WindowOf(a.Times, a.Info.Rate)
	s.Paths = append(append(s.Paths, stem+indexSuffix), read...)
	s.Sources = append(s.Sources, index)
	return nil
}
