package archive

import (
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/store"
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
