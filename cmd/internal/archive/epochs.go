package archive

import (
	"io/fs"

	"calotte/topo/erp/epoch"
	"calotte/topo/erp/store"
	"calotte/topo/provenance"
	"calotte/topo/recording/array"
)

// Saved is an open array of epochs.
type Saved struct {
	*store.Epochs
	Paths []string // of all that was read
}

// OpenEpochs opens an array of epochs, as [store.OpenEpochs] does.
func OpenEpochs(path string) (Saved, error) {
	f, name := beside(path)
	e, err := store.OpenEpochs(f, name)
	if err != nil {
		return Saved{}, f.located(err)
	}
	if !e.Described {
		e.Name = FitStem(e.Name)
	}
	return Saved{e, f.read}, nil
}

// CutElsewhere is epochs of an open file, as [store.CutElsewhere] has them.
func CutElsewhere(path string, file fs.File, sites []string, cut *array.Cut, source provenance.Source) Saved {
	e := store.CutElsewhere(file, sites, cut, source)
	e.Name = FitStem(e.Name)
	return Saved{e, []string{path}}
}

// LoadEpochs reads the epochs that were saved with the average whose table is
// at path, as [store.ReadEpochs] does, and returns the paths of all that it
// read.
func LoadEpochs(path string) (e *epoch.Collection, read []string, err error) {
	f, name := beside(path)
	if e, err = store.ReadEpochs(f, name); err != nil || e == nil {
		return nil, nil, f.located(err)
	}
	return e, f.read, nil
}
