package cohort

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"calotte/cmd/internal/disk"
)

// Open makes the folder of the records. Alone it is for a run, which
// no other may join, and clears away what a killed one left half written; else for one task
// of several side by side.
func (l *Ledger) Open(ctx context.Context, alone bool) (closed func(), err error) {
	if !l.Force && !l.ours() {
		return nil, fmt.Errorf("%s holds other files, and no records of a study: choose another folder, or --force to write into it", l.Dir)
	}
	if err := os.MkdirAll(filepath.Join(l.Dir, statusFolder), 0o777); err != nil {
		return nil, err
	}
	folder, err := disk.OpenFolder(l.Dir)
	if err != nil {
		return nil, err
	}
	unlock, ok, err := folder.TryLock(statusFolder+"/.lock", !alone)
	if err != nil {
		return nil, err
	}
	if !ok {
		return nil, fmt.Errorf("%s: another run is at work there: wait for it, or see calotte cohort status", l.Dir)
	}
	err = l.claim(ctx)
	if err == nil && alone {
		err = folder.SweepAll(ctx)
	}
	if err != nil {
		unlock()
		return nil, err
	}
	return unlock, nil
}

// claim notes whose results these are, and refuses those of another recipe.
func (l *Ledger) claim(ctx context.Context) error {
	var owner struct {
		Recipe string `json:"recipe"`
	}
	path := filepath.Join(l.Dir, statusFolder, "owner.json")
	text, err := os.ReadFile(path)
	if err == nil && json.Unmarshal(text, &owner) == nil && owner.Recipe == l.Owner {
		return nil
	}
	if err == nil && owner.Recipe != "" && !l.Force {
		return fmt.Errorf("%s holds the results of %s: give this recipe another results: folder, or --force to replace them", l.Dir, owner.Recipe)
	}
	owner.Recipe = l.Owner
	return l.write(ctx, path, owner)
}

// ours reports whether the results are a study's, or nothing yet.
func (l *Ledger) ours() bool {
	entries, err := os.ReadDir(l.Dir)
	if err != nil || len(entries) == 0 {
		return true
	}
	return slices.ContainsFunc(entries, func(e os.DirEntry) bool { return e.IsDir() && e.Name() == statusFolder })
}
