package store

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"path"
	"strings"

	"calotte/topo/erp"
	"calotte/topo/erp/epoch"
	"calotte/topo/provenance"
	"calotte/topo/recording/array"
	"calotte/topo/recording/epochs"
)

// Epochs is an open array of epochs.
type Epochs struct {
	Name      string // of the person, or of the file
	Set       erp.EpochSet
	Shape     epochs.Shape
	Described bool                // by the files of an average beside it
	Sources   []provenance.Source // the array, and its index
	file      fs.File
}

// Close closes the array.
func (e *Epochs) Close() error { return e.file.Close() }

// OpenEpochs opens an array of epochs, a file that can be sought in. Where it
// is one that was saved with an average, as its name says, the files of the
// average have to be there, unchanged.
func OpenEpochs(fsys fs.FS, name string) (*Epochs, error) {
	file, err := fsys.Open(name)
	if err != nil {
		return nil, err
	}
	e := &Epochs{file: file}
	if err := e.read(fsys, name); err != nil {
		file.Close()
		return nil, &Error{Name: name, Err: err}
	}
	return e, nil
}

func (e *Epochs) read(fsys fs.FS, name string) error {
	file, ok := e.file.(io.ReadSeeker)
	if !ok {
		return errors.New("it cannot be read from its start again: expected a file on disk, or in memory")
	}
	h := sha256.New()
	if _, err := io.Copy(h, file); err != nil {
		return err
	}
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		return err
	}
	r, err := epochs.NewReader(file)
	if err != nil {
		return err
	}
	sum := hex.EncodeToString(h.Sum(nil))
	e.Shape, e.Set.Epochs = r.Shape, fromStart(file)
	e.Sources = []provenance.Source{{Name: path.Base(name), SHA256: sum}}
	if stem, own := strings.CutSuffix(name, EpochsSuffix); own {
		if _, err := fs.Stat(fsys, stem+InfoSuffix); err == nil {
			return e.describe(fsys, stem, sum)
		}
	}
	e.Name, e.Set.Condition = named(name)
	return nil
}

// named takes the person and the condition from the name of a file.
func named(name string) (person, condition string) {
	base := strings.TrimSuffix(path.Base(name), path.Ext(name))
	stem := strings.TrimSuffix(base, "_epochs")
	if i := strings.LastIndexByte(stem, '_'); i > 0 && erp.CheckName(stem[i+1:]) == nil {
		return stem[:i], stem[i+1:]
	}
	return base, "epochs"
}

// CutElsewhere is epochs of an open file that is no array which OpenEpochs
// reads. Person and condition are those of the file's name; what it was made
// from is the file alone.
func CutElsewhere(file fs.File, sites []string, cut *array.Cut, source provenance.Source) *Epochs {
	e := &Epochs{file: file, Shape: epochs.Shape{Epochs: cut.Epochs, Sites: cut.Sites, Samples: cut.Samples},
		Sources: []provenance.Source{source}}
	e.Name, e.Set.Condition = named(source.Name)
	e.Set.Sites, e.Set.Epochs = sites, cut.All()
	return e
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
func (e *Epochs) describe(fsys fs.FS, stem, sum string) error {
	a, err := Open(fsys, stem+TableSuffix)
	if err != nil {
		return err
	}
	set := set{fsys: fsys, average: a, stem: stem}
	listed, ok := set.listed(EpochsSuffix)
	if !ok || listed.SHA256 != sum {
		return fmt.Errorf("they are not the epochs that %s describes: restore them, or give the changed "+
			"file a name "+
			"that does not end in %s", path.Base(stem)+InfoSuffix, EpochsSuffix)
	}
	index, ok := set.listed(IndexSuffix)
	b, err := fs.ReadFile(fsys, stem+IndexSuffix)
	if err != nil {
		return err
	}
	if !ok || index.SHA256 != provenance.SourceOf(index.Name, b).SHA256 {
		return fmt.Errorf("%s has changed since it was written: average again", path.Base(stem)+IndexSuffix)
	}
	rows, err := epoch.ReadIndex(bytes.NewReader(b), a.Info.Condition)
	if err != nil {
		return fmt.Errorf("%s: %w", path.Base(stem)+IndexSuffix, err)
	}
	if e.Shape.Sites != len(a.Sites) || e.Shape.Samples != len(a.Times) {
		return fmt.Errorf("the array is %v (epoch × site × sample), the average has %d sites and %d samples: "+
			"average again", e.Shape, len(a.Sites), len(a.Times))
	}
	e.Described, e.Name = true, a.Info.Name
	e.Set.Condition, e.Set.Sites, e.Set.Rows, e.Set.Info = a.Info.Condition, a.Sites, rows, a.Info
	e.Set.Window = epoch.WindowOf(a.Times, a.Info.Rate)
	e.Sources = append(e.Sources, index)
	return nil
}

// ReadEpochs reads the epochs that were saved with the average whose table has
// this name, into memory. Where none lie beside it, be it that none were saved
// or that the array was deleted, it returns nil without an error; epochs that
// are not those of the average are one.
//
// The covariance of the mean, which the error of a map asks for, comes from
// them:
//
//	e, err := store.ReadEpochs(os.DirFS("averages"), "sub-01_known_average.tsv")
//	scores, err := e.WindowScores(span)     // epoch × site; or e.Scores for a sample
//	covariance, err := epoch.MeanCovariance(scores)
func ReadEpochs(fsys fs.FS, table string) (*epoch.Collection, error) {
	stem, own := strings.CutSuffix(table, TableSuffix)
	if !own {
		return nil, nil // a table made elsewhere
	}
	array := stem + EpochsSuffix
	if _, err := fs.Stat(fsys, array); errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	saved, err := OpenEpochs(fsys, array)
	if err != nil {
		return nil, err
	}
	defer saved.Close()
	if !saved.Described {
		return nil, nil // an average without a JSON: nothing says that they are its own
	}
	e, err := saved.Set.Collect()
	if err != nil {
		return nil, &Error{Name: array, Err: err}
	}
	return e, nil
}
