package cohort

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"calotte/cmd/internal/disk"
)

// statusFolder holds the records, in the results.
const statusFolder = "status"

// States of a task. One that waits has no record; one that has changed was done, but would be
// done otherwise now, or its files are no longer as it made them.
const (
	Done    = "done"
	Failed  = "failed"
	Changed = "changed"
	Waiting = "open"
)

// A Record says how a task ended.
type Record struct {
	ID     string `json:"task"`
	Person string `json:"person,omitempty"`
	Key    string `json:"key"`
	State  string `json:"state"`
	// Error is why it failed, in one line; Said is what it noted.
	Error string `json:"error,omitempty"`
	Said  string `json:"said,omitempty"`
	// Seconds is how long it took.
	Seconds float64 `json:"seconds"`
	Files   []File  `json:"files,omitempty"`
}

// A Ledger keeps the records of a study's tasks. Load comes before anything else.
type Ledger struct {
	Dir   string // of the results
	Maker string // the program, its version and seed: another one does all again
	Owner string // the recipe, as seen from the results; those of another are not replaced
	Force bool   // write into a folder that holds other files, or another recipe's results

	mutex  sync.Mutex
	hashes map[string]hashed // by the SHA-256 of the path
}

// write puts JSON in its place, whole or not at all.
func (l *Ledger) write(ctx context.Context, path string, content any) error {
	text, err := json.MarshalIndent(content, "", "  ")
	if err != nil {
		return err
	}
	return put(ctx, path, append(text, '\n'))
}

// put puts a file in its place, whole or not at all.
func put(ctx context.Context, path string, content []byte) error {
	out := &disk.Files{Force: true}
	if err := out.Plan(path); err != nil {
		return err
	}
	out.Put(path, content)
	return out.Write(ctx)
}

func (l *Ledger) recordPath(id string) string {
	return filepath.Join(l.Dir, statusFolder, Task{ID: id}.slug()+".json")
}

// Read returns a task's record, and whether there is one.
func (l *Ledger) Read(id string) (Record, bool) {
	var r Record
	text, err := os.ReadFile(l.recordPath(id))
	return r, err == nil && json.Unmarshal(text, &r) == nil
}

// Settled reports whether a task is done as it would be done now: its record has its key, and
// its files are as recorded.
func (l *Ledger) Settled(t Task) (bool, error) {
	r, ok := l.Read(t.ID)
	if !ok || r.State != Done {
		return false, nil
	}
	key, err := l.key(t)
	if err != nil || key != r.Key {
		return false, err
	}
	files, err := l.outputs(t)
	return err == nil && len(files) > 0 && slices.Equal(files, r.Files), err
}

// clear removes what a task made before, where it is still as the task made it.
func (l *Ledger) clear(id string) error {
	r, ok := l.Read(id)
	if !ok {
		return nil
	}
	for _, f := range r.Files {
		if _, err := l.removeMade(f); err != nil {
			return err
		}
	}
	return nil
}

// removeMade removes a file that a task made, unless someone changed it since.
func (l *Ledger) removeMade(f File) (removed bool, err error) {
	made := filepath.Join(l.Dir, filepath.FromSlash(f.Path))
	if sum, err := l.hash(made); err != nil || sum != f.SHA256 {
		return false, nil
	}
	return true, os.Remove(made)
}

// Prune removes what tasks made that are no longer asked for, where it is still as they made
// it, and their records. It returns what it removed.
func (l *Ledger) Prune(tasks []Task) (removed []string, err error) {
	entries, err := os.ReadDir(filepath.Join(l.Dir, statusFolder))
	if err != nil {
		return nil, nil // there is nothing yet
	}
	kept := map[string]bool{}
	wanted := map[string]bool{}
	for _, t := range tasks {
		wanted[filepath.Base(l.recordPath(t.ID))] = true
		if r, ok := l.Read(t.ID); ok {
			for _, f := range r.Files {
				kept[f.Path] = true
			}
		}
	}
	for _, e := range entries {
		if wanted[e.Name()] || !strings.HasSuffix(e.Name(), ".json") || e.Name() == filepath.Base(l.cachePath()) {
			continue
		}
		var r Record
		path := filepath.Join(l.Dir, statusFolder, e.Name())
		text, err := os.ReadFile(path)
		if err != nil || json.Unmarshal(text, &r) != nil || r.ID == "" {
			continue
		}
		for _, f := range r.Files {
			if kept[f.Path] {
				continue
			}
			gone, err := l.removeMade(f)
			if err != nil {
				return removed, err
			}
			if gone {
				removed = append(removed, f.Path)
			}
		}
		if err := os.Remove(path); err != nil {
			return removed, err
		}
	}
	return removed, nil
}
