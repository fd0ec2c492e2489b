package cohort

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strings"
)

// A Task is one command line.
type Task struct {
	// ID names it: "average sub-01".
	ID string
	// Person is whose task it is; empty: the group's.
	Person string
	// Args are the command line; Settings are what of it bears on the
	// result, without places.
	Args, Settings []string
	// Inputs are the files that it reads.
	Inputs []string
	// Printed, if it is there, is the file that takes what the command
	// prints, as seen from the results.
	Printed string
	// Outputs are the files that it makes, as seen from the results; a star
	// at the end stands for any rest of a name.
	Outputs []string
}

// slug is the task's name as that of a file.
func (t Task) slug() string { return strings.Replace(t.ID, " ", "_", 1) }

// key is the SHA-256 of what bears on the task's result. Files count by name
// and content; outside are those of them that lie outside of the results.
func (l *Ledger) key(t Task) (key string, outside []File, err error) {
	var inputs []File
	for _, path := range t.Inputs {
		name, inside := l.name(path)
		if inside && l.isUnmade(name) {
			return "", nil, fmt.Errorf("it needs %s, which was not made", filepath.Base(path))
		}
		sum, err := l.hash(path)
		if errors.Is(err, fs.ErrNotExist) {
			return "", nil, fmt.Errorf("it needs %s, which is not there", filepath.Base(path))
		}
		if err != nil {
			return "", nil, err
		}
		in := newFile(filepath.Base(path), sum)
		inputs = append(inputs, in)
		if !inside {
			outside = append(outside, in)
		}
	}
	slices.SortFunc(inputs, File.compare)
	slices.SortFunc(outside, File.compare)
	text, err := json.Marshal([]any{l.Maker, t.Settings, inputs, t.Outputs})
	if err != nil {
		return "", nil, err
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:]), outside, nil
}

// isUnmade reports whether the task whose output a file is has failed in this
// run.
func (l *Ledger) isUnmade(name string) bool {
	l.mutex.Lock()
	defer l.mutex.Unlock()
	return l.unmade[name]
}

func (f File) compare(o File) int {
	return cmp.Or(cmp.Compare(f.Path, o.Path), cmp.Compare(f.SHA256, o.SHA256))
}

// outputs lists what a task made, with hashes, in order.
func (l *Ledger) outputs(t Task) ([]File, error) {
	var files []File
	for _, pattern := range t.Outputs {
		names, err := l.matching(pattern)
		if err != nil {
			return nil, err
		}
		for _, name := range names {
			sum, err := l.hash(l.path(name))
			if err != nil {
				return nil, err
			}
			files = append(files, newFile(name, sum))
		}
	}
	slices.SortFunc(files, File.compare)
	return slices.Compact(files), nil
}

// matching are the files of the results that have a name, or begin as a pattern
// does.
func (l *Ledger) matching(pattern string) ([]string, error) {
	if l.folder == nil {
		return nil, nil
	}
	prefix, many := strings.CutSuffix(pattern, "*")
	if !many {
		info, err := l.folder.Stat(pattern)
		if errors.Is(err, fs.ErrNotExist) || err == nil && info.IsDir() {
			return nil, nil
		}
		return []string{pattern}, err
	}
	dir, _ := path.Split(prefix)
	entries, err := l.folder.ReadDir(path.Clean(dir))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	var names []string
	for _, e := range entries {
		if name := dir + e.Name(); !e.IsDir() && strings.HasPrefix(name, prefix) {
			names = append(names, name)
		}
	}
	return names, nil
}
