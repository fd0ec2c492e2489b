package cohort

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
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
	// Args are the command line; Settings are what of it bears on the result, without places.
	Args, Settings []string
	// Inputs are the files that it reads.
	Inputs []string
	// Printed, if it is there, is the file that takes what the command prints, as seen from
	// the results.
	Printed string
	// Outputs are the files that it makes, as seen from the results; a star at the end stands
	// for any rest of a name.
	Outputs []string
}

// slug is the task's name as that of a file.
func (t Task) slug() string { return strings.Replace(t.ID, " ", "_", 1) }

// A File is one that a task made, by its path in the results.
type File struct {
	Path   string `json:"path"`
	SHA256 string `json:"sha256"`
}

// key is the SHA-256 of what bears on the task's result. Files count by name and content.
func (l *Ledger) key(t Task) (string, error) {
	var inputs []File
	for _, path := range t.Inputs {
		sum, err := l.hash(path)
		if errors.Is(err, fs.ErrNotExist) {
			return "", fmt.Errorf("it needs %s, which is not there", filepath.Base(path))
		}
		if err != nil {
			return "", err
		}
		inputs = append(inputs, File{filepath.Base(path), sum})
	}
	slices.SortFunc(inputs, func(a, b File) int { return cmp.Or(cmp.Compare(a.Path, b.Path), cmp.Compare(a.SHA256, b.SHA256)) })
	text, err := json.Marshal([]any{l.Maker, t.Settings, inputs, t.Outputs})
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:]), nil
}

// outputs lists what a task made, with hashes, in order.
func (l *Ledger) outputs(t Task) ([]File, error) {
	var files []File
	for _, pattern := range t.Outputs {
		dir, base := path.Split(pattern)
		entries, err := os.ReadDir(filepath.Join(l.Dir, filepath.FromSlash(dir)))
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return nil, err
		}
		prefix, many := strings.CutSuffix(base, "*")
		for _, e := range entries {
			if name := e.Name(); e.IsDir() || name != base && !(many && strings.HasPrefix(name, prefix)) {
				continue
			}
			sum, err := l.hash(filepath.Join(l.Dir, filepath.FromSlash(dir), e.Name()))
			if err != nil {
				return nil, err
			}
			files = append(files, File{dir + e.Name(), sum})
		}
	}
	slices.SortFunc(files, func(a, b File) int { return cmp.Compare(a.Path, b.Path) })
	return slices.Compact(files), nil
}
