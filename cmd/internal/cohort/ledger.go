package cohort

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path"
	"slices"
	"strings"
	"sync"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/disk"
)

// statusFolder holds the records, in the results.
const statusFolder = "status"

// Files beside the records.
const (
	ownerFile  = statusFolder + "/owner.json"
	hashesFile = statusFolder + "/hashes.json"
)

// A Ledger keeps the records of a study's tasks. Load comes before anything
// else.
type Ledger struct {
	Dir    string // of the results
	Maker  string // the program, its version and seed: another one does all again
	Recipe string // its path; results of another one are not replaced
	Force  bool   // write into a folder that holds other files, or another recipe's results
	People int    // how many there are, which bounds what is kept of their files
	// Inputs are files that are never removed, whatever a record says.
	Inputs func() []string
	// Private are folders whose names no record is to hold.
	Private Folders

	results
	mutex   sync.Mutex
	hashes  map[string]hashed // by the SHA-256 of the path
	records map[string]Record // by the name of the file in the status folder
	spared  func() map[int64][]fs.FileInfo
	unmade  map[string]bool // outputs of tasks that have failed in this run
	reread  bool            // known hashes count for nothing

	dropping sync.Mutex // held while the reports are removed
}

// Load reads all records, and the hashes that are known from earlier.
func (l *Ledger) Load() error {
	if err := l.begin(); err != nil {
		return err
	}
	return l.loadAll()
}

// begin opens the results, where there are any, and reads the hashes.
func (l *Ledger) begin() error {
	l.records, l.unmade = map[string]Record{}, map[string]bool{}
	l.spared = sync.OnceValue(l.spare)
	if err := l.reach(l.Dir, disk.OpenFolder); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if l.folder != nil {
		if err := l.checkStatus(); err != nil {
			return err
		}
	}
	return l.loadHashes()
}

// loadAll reads all records.
func (l *Ledger) loadAll() error {
	l.records = map[string]Record{}
	if l.folder == nil {
		return nil
	}
	entries, err := l.folder.ReadDir(statusFolder)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	for _, e := range entries {
		name := statusFolder + "/" + e.Name()
		if e.IsDir() || e.Name()[0] == '.' || !strings.HasSuffix(name, ".json") || name == ownerFile ||
			name == hashesFile {
			continue
		}
		if err := l.load(e.Name()); err != nil && !errors.Is(err, fs.ErrNotExist) { // a run has just removed it
			return err
		}
	}
	return nil
}

// load reads a record. A file that holds none is not passed over: what its task
// made could not be told from what somebody else did.
func (l *Ledger) load(base string) error {
	const advice = "remove it, and its task is done again"
	name := statusFolder + "/" + base
	text, err := l.read(name, largestRecord)
	if err != nil {
		return fmt.Errorf("%w: %s", err, advice)
	}
	r, err := parseRecord(text)
	if err == nil && recordName(r.ID) != base {
		err = fmt.Errorf("task %q, whose record would be %s", r.ID, recordName(r.ID))
	}
	if err != nil {
		return fmt.Errorf("%s is no record of a task: %w: %s", l.path(name), err, advice)
	}
	l.records[base] = r
	return nil
}

func recordName(id string) string { return Task{ID: id}.slug() + ".json" }

// Read returns a task's record, and whether there is one.
func (l *Ledger) Read(id string) (Record, bool) {
	l.mutex.Lock()
	defer l.mutex.Unlock()
	r, ok := l.records[recordName(id)]
	return r, ok
}

// keep writes a task's record. Where it has failed, what is left of its outputs
// is not for other tasks.
func (l *Ledger) keep(ctx context.Context, r Record, outputs []string) error {
	if err := l.putJSON(ctx, statusFolder+"/"+recordName(r.ID), r); err != nil {
		return err
	}
	l.mutex.Lock()
	defer l.mutex.Unlock()
	l.records[recordName(r.ID)] = r
	for _, name := range outputs {
		l.unmade[name] = r.State != Done
	}
	return nil
}

// line is what goes into a record of what was said about a task: one line,
// without the names of folders.
func (l *Ledger) line(t Task, text string) string {
	return clip(shown(l.Private.Strip(strings.Join(strings.Fields(text), " "), t.Inputs...)))
}

// lines are several of them.
func (l *Ledger) lines(t Task, text string) string {
	var out []string
	for line := range strings.Lines(text) {
		out = append(out, l.line(t, line))
	}
	return strings.Join(out, "\n")
}

// clip cuts what a line has no room for.
func clip(text string) string {
	const most = 4000
	if letters := []rune(text); len(letters) > most {
		return string(letters[:most]) + "…"
	}
	return text
}

// Settled reports whether a task is done as it would be done now: its record
// has its key, and its files are as recorded.
func (l *Ledger) Settled(t Task) (bool, error) {
	r, ok := l.Read(t.ID)
	if !ok || r.State != Done {
		return false, nil
	}
	key, inputs, err := l.key(t)
	if err != nil || key != r.Key || !slices.Equal(inputs, r.Inputs) {
		return false, err
	}
	files, err := l.outputs(t)
	return err == nil && len(files) > 0 && slices.Equal(files, r.Files), err
}

// removeAll removes files that a task made, where they are still as it made
// them, and returns which. What describes others goes last: where that stays,
// what is gone is missed.
func (l *Ledger) removeAll(files []File) (removed []string, err error) {
	tables, descriptions := []File{}, []File{}
	for _, f := range files {
		if path.Ext(f.Path) == ".json" {
			descriptions = append(descriptions, f)
		} else {
			tables = append(tables, f)
		}
	}
	for _, f := range append(tables, descriptions...) {
		gone, err := l.removeMade(f)
		if err != nil {
			return removed, err
		}
		if gone {
			removed = append(removed, f.Path)
		}
	}
	return removed, nil
}

// removeMade removes a file that a task made, unless someone changed it since,
// or it is an input under another name. A link on the way that leads out of the
// results is an error.
func (l *Ledger) removeMade(f File) (removed bool, err error) {
	file, info, err := l.folder.Open(f.Path)
	if errors.Is(err, disk.ErrOutside) {
		return false, err
	}
	if err != nil {
		return false, nil
	}
	sum, err := archive.HashOf(file)
	if file.Close(); err != nil || sum != f.SHA256 || l.isInput(info) {
		return false, nil
	}
	return true, l.remove(f.Path)
}

// remove removes a file, which another process may just have done.
func (l *Ledger) remove(name string) error {
	if err := l.folder.Remove(name); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// forget removes a record.
func (l *Ledger) forget(name string) error {
	if err := l.remove(statusFolder + "/" + name); err != nil {
		return err
	}
	l.mutex.Lock()
	defer l.mutex.Unlock()
	delete(l.records, name)
	return nil
}

// spare describes the inputs, by their sizes.
func (l *Ledger) spare() map[int64][]fs.FileInfo {
	by := map[int64][]fs.FileInfo{}
	for _, path := range l.Inputs() {
		if info, err := os.Stat(path); err == nil {
			by[info.Size()] = append(by[info.Size()], info)
		}
	}
	return by
}

// isInput reports whether a file is one of the inputs, whatever its name.
func (l *Ledger) isInput(info fs.FileInfo) bool {
	return slices.ContainsFunc(l.spared()[info.Size()], func(in fs.FileInfo) bool { return os.SameFile(in, info) })
}

// Prune removes what tasks made that are no longer asked for, where it is still
// as they made it, and their records. It returns what it removed.
func (l *Ledger) Prune(tasks []Task) (removed []string, err error) {
	kept, wanted := map[string]bool{}, map[string]bool{}
	for _, t := range tasks {
		wanted[recordName(t.ID)] = true
		r, _ := l.Read(t.ID)
		for _, f := range r.Files {
			kept[f.Path] = true
		}
	}
	unwanted := slices.DeleteFunc(slices.Sorted(maps.Keys(l.records)), func(name string) bool {
		return wanted[name] || name == recordName(reports.ID)
	})
	if len(unwanted) > 0 {
		if err := l.dropReports(); err != nil {
			return nil, err
		}
	}
	for _, name := range unwanted {
		spare := slices.DeleteFunc(slices.Clone(l.records[name].Files),
			func(f File) bool { return kept[f.Path] })
		gone, err := l.removeAll(spare)
		if removed = append(removed, gone...); err != nil {
			return removed, err
		}
		if err := l.forget(name); err != nil {
			return removed, err
		}
	}
	return removed, nil
}
