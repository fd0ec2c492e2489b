package archive

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"os"
	"path/filepath"
	"strings"

	"calotte/cmd/internal/disk"
	"calotte/render/canvas"
	"calotte/render/page"
	"calotte/topo/erp/store"
	"calotte/topo/provenance"
)

// States of an input, as against what was recorded of it.
const (
	Unchanged = "unchanged"
	Changed   = "changed"
	NotHere   = "not here"
)

// An Origin is a file with what it was made from, as far as it can be followed.
type Origin struct {
	Name string `json:"name"`
	Path string `json:"-"` // where it was found; empty: it was not
	// empty for a figure that was asked for: nothing else knows its hash
	State  string             `json:"state,omitempty"`
	Made   *provenance.Record `json:"made,omitempty"` // nil: the file says nothing of itself
	Inputs []Origin           `json:"inputs,omitempty"`
	More   bool               `json:"more,omitempty"` // it has inputs, too far down to be followed
}

// TraceOrigin follows a figure or table to what it was made from, and that to
// what it was made from in turn. Inputs are looked for by their names, in the
// folder of the file that they were read for and in those given; of several
// files of one name one whose hash is right is taken. A file that was not made
// by this program is an error. What lies more than deepest steps down is left
// out.
func (s *Shelf) TraceOrigin(ctx context.Context, path string, folders []string) (Origin, error) {
	made, err := ReadOrigin(path)
	if err != nil {
		return Origin{}, err
	}
	o := Origin{Name: filepath.Base(path), Path: path, Made: made}
	if o.State, err = ownState(ctx, path); err != nil {
		return o, err
	}
	t := tracing{search: newSearch(ctx, s, folders), followed: map[string]bool{path: true}}
	return o, t.follow(&o, 1)
}

// isFigure reports whether a file's name ends as that of a figure or a film.
func isFigure(path string) bool {
	ext := strings.ToLower(filepath.Ext(path))
	_, err := canvas.ParseFormat(ext)
	return err == nil || ext == ".gif" || ext == ".apng" || isPage(path)
}

// isPage reports whether a file's name ends as that of an interactive page.
func isPage(path string) bool {
	ext := strings.ToLower(filepath.Ext(path))
	return ext == ".html" || ext == ".htm"
}

// readPage reads the provenance of a page, which stands before its data.
func readPage(path string) (*provenance.Record, error) {
	file, _, err := disk.Open(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	const before = 1 << 20 // style and markup
	text, err := io.ReadAll(io.LimitReader(file, before+mostRecord))
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", path, err)
	}
	p, err := page.ReadProvenance(text)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return &p, nil
}

// ownState compares a table with the hash in the JSON that describes it.
func ownState(ctx context.Context, path string) (string, error) {
	beside := Description(path)
	if beside == "" {
		return "", nil
	}
	described, err := describedFiles(beside)
	if err != nil {
		return "", err
	}
	for _, f := range described {
		if f.Name != filepath.Base(path) {
			continue
		}
		sum, err := hashFile(ctx, path)
		if err != nil {
			return "", err
		}
		if sum != "" && sum == f.SHA256 {
			return Unchanged, nil
		}
		return Changed, nil
	}
	return "", nil
}

// describedFiles are those that a JSON says belong to it.
func describedFiles(path string) ([]provenance.Source, error) {
	text, err := disk.ReadFile(path)
	if err != nil {
		return nil, err
	}
	var described struct{ Files []provenance.Source }
	if err := json.Unmarshal(text, &described); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return described.Files, nil
}

// Described are the names of the files that a JSON says belong to it.
func Described(path string) ([]string, error) {
	files, err := describedFiles(path)
	names := make([]string, len(files))
	for i, f := range files {
		names[i] = f.Name
	}
	return names, err
}

// A tracing follows files to what they were made from.
type tracing struct {
	*search
	followed map[string]bool // by path
}

// deepest is how many steps down a file is followed: from a figure to
// recordings are some ten, and a stranger's chain of small files may have any
// number.
const deepest = 50

// follow finds the inputs of a file, which are so many steps down.
func (t tracing) follow(o *Origin, depth int) error {
	for _, source := range o.Made.Inputs {
		in := Origin{Name: source.Name, State: NotHere}
		path, same, err := t.locate(filepath.Dir(o.Path), source)
		if err != nil {
			return err
		}
		if path != "" {
			in.State, in.Path = Changed, path
			if same {
				in.State = Unchanged
			}
			if err := t.once(&in, depth); err != nil {
				return err
			}
		}
		o.Inputs = append(o.Inputs, in)
	}
	return nil
}

// once follows an input on, where it says what it was made from, unless that
// was done.
func (t tracing) once(in *Origin, depth int) error {
	if t.followed[in.Path] {
		return nil
	}
	t.followed[in.Path] = true
	made, err := ReadOrigin(in.Path)
	if err != nil {
		return nil // a recording, or a table of others
	}
	in.Made = made
	if in.More = depth == deepest && len(made.Inputs) > 0; in.More {
		return nil
	}
	return t.follow(in, depth+1)
}

// WithPeople yields folders, then those of people and of the group in them and
// beside them, as the results of a whole study lie.
func WithPeople(folders []string) iter.Seq[string] {
	return func(yield func(string) bool) {
		for _, dir := range folders {
			if !yield(dir) {
				return
			}
		}
		for _, dir := range folders {
			for _, near := range []string{dir, filepath.Join(dir, "..")} {
				entries, _ := disk.ReadDir(near) // what cannot be read holds nothing to find
				for _, e := range entries {
					if e.IsDir() && (strings.HasPrefix(e.Name(), "sub-") || e.Name() == "group") &&
						!yield(filepath.Join(near, e.Name())) {
						return
					}
				}
			}
		}
	}
}

// ErrSilent is the cause of an error about a file that says nothing of itself.
var ErrSilent = errors.New("it does not say what it was made from: expected a figure, or a table with its " +
	"JSON beside it")

// ReadOrigin reads what made a figure, a table, or the files of an average.
func ReadOrigin(path string) (*provenance.Record, error) {
	if isPage(path) {
		return readPage(path)
	}
	if isFigure(path) {
		file, info, err := disk.Open(path)
		if err != nil {
			return nil, err
		}
		defer file.Close()
		p, err := canvas.ReadProvenance(file, info.Size())
		if err != nil {
			return nil, fmt.Errorf("%s: %w", path, err)
		}
		return &p, nil
	}
	text, err := disk.ReadFile(describing(path))
	if errors.Is(err, fs.ErrNotExist) {
		if _, missing := os.Stat(path); missing != nil {
			return nil, missing
		}
		return nil, fmt.Errorf("%s: %w", path, ErrSilent)
	}
	if err != nil {
		return nil, err
	}
	var described struct{ Provenance json.RawMessage }
	if err := json.Unmarshal(text, &described); err != nil {
		return nil, fmt.Errorf("%s: %w", describing(path), err)
	}
	if n := len(described.Provenance); n > mostRecord {
		return nil, fmt.Errorf("%s: a provenance of %d bytes: expected at most %d", describing(path), n,
			mostRecord)
	}
	var made *provenance.Record
	if described.Provenance != nil {
		if err := json.Unmarshal(described.Provenance, &made); err != nil {
			return nil, fmt.Errorf("%s: the provenance is damaged: %w", describing(path), err)
		}
	}
	if made == nil || made.Program == "" {
		return nil, fmt.Errorf("%s: %w", path, ErrSilent)
	}
	return made, nil
}

// mostRecord is how many bytes of provenance are read: a study of some ten
// thousand people takes that many.
const mostRecord = 16 << 20

// Description is the JSON beside a table, which says how it was made; empty
// where a file says it of itself.
func Description(path string) string {
	if isFigure(path) || describing(path) == path {
		return ""
	}
	return describing(path)
}

// describing is the JSON that belongs to a file.
func describing(path string) string {
	dir, name := filepath.Split(path)
	return dir + store.Description(name)
}
