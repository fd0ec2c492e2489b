package archive

import (
	"bytes"
	"fmt"
	"path/filepath"

	"calotte/cmd/internal/disk"
	"calotte/topo/erp"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/store"
	"calotte/topo/provenance"
	"calotte/topo/recording/epochs"
)

// A Keeper writes the epochs of a person's conditions while they are averaged.
// A nil Keeper keeps none.
type Keeper struct {
	files *disk.Files
	stems []string // with the folder
	kept  []*keeping
}

// A keeping is the array of one condition.
type keeping struct {
	spool *disk.Spool
	array *epochs.Spool
}

// NewKeeper keeps the epochs of a person's conditions in files of a folder.
func NewKeeper(files *disk.Files, dir, name string, conditions []erp.Condition) *Keeper {
	k := &Keeper{files: files, kept: make([]*keeping, len(conditions))}
	for _, c := range conditions {
		k.stems = append(k.stems, filepath.Join(dir, Stem(name, c.Name)))
	}
	return k
}

// Add writes an epoch of a condition, by index: site × sample in µV.
func (k *Keeper) Add(condition int, _ erp.Trial, sites [][]float64) error {
	kept := k.kept[condition]
	if kept == nil {
		spool, err := k.files.Spool(k.stems[condition] + store.EpochsSuffix)
		if err != nil {
			return err
		}
		kept = &keeping{spool: spool}
		k.kept[condition] = kept
		if kept.array, err = epochs.NewSpool(spool, len(sites), len(sites[0])); err != nil {
			return err
		}
	}
	return kept.array.Write(sites)
}

// Close ends the array of a condition and queues it with its index. It returns
// what the JSON of the average has to list.
func (k *Keeper) Close(condition int, rows []epoch.Row) ([]provenance.Source, error) {
	if k == nil {
		return nil, nil
	}
	kept, stem := k.kept[condition], k.stems[condition]
	if kept == nil {
		return nil, fmt.Errorf("%s: no epoch was kept", stem)
	}
	if err := kept.array.Close(); err != nil {
		return nil, fmt.Errorf("%s: %w", stem+store.EpochsSuffix, err)
	}
	sum, err := kept.spool.Close()
	if err != nil {
		return nil, err
	}
	var index bytes.Buffer
	if err := epoch.WriteIndex(&index, rows); err != nil {
		return nil, err
	}
	k.files.Put(stem+store.IndexSuffix, index.Bytes())
	return []provenance.Source{
		{Name: filepath.Base(stem) + store.EpochsSuffix, SHA256: sum},
		provenance.SourceOf(filepath.Base(stem)+store.IndexSuffix, index.Bytes()),
	}, nil
}
