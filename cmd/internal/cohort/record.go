package cohort

import (
	"encoding/json"
	"errors"
	"fmt"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"unicode"
)

// States of a task. One whose person is left out broke a rule of the recipe for
// that; one that waits has no record; one that has changed was done, but would
// be done otherwise now, or its files are no longer as it made them.
const (
	Done    = "done"
	Failed  = "failed"
	LeftOut = "left out"
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
	// Inputs are the files that it read from outside of the results, by
	// their base names; Files are those that it made.
	Inputs []File `json:"inputs,omitempty"`
	Files  []File `json:"files,omitempty"`
}

// Ended reports whether the task has ended, one way or another.
func (r Record) Ended() bool { return r.State == Done || r.without() }

// without reports whether the study goes on without what the task makes.
func (r Record) without() bool { return r.State == Failed || r.State == LeftOut }

// A File is one that a task read or made, by its path in the results. A name
// may hold what cannot be shown, so it is for console to show.
type File struct {
	Path   string `json:"path"`
	SHA256 string `json:"sha256"`
}

// newFile is one that reads back from a record as it is, whatever bytes its
// name is made of.
func newFile(path, sum string) File { return File{valid(path), sum} }

// valid is a name as JSON keeps it.
func valid(name string) string { return strings.ToValidUTF8(name, "\ufffd") }

// longestTask is more seconds than there have been, so that none fills the
// screen with digits.
const longestTask = 1e11

// largestRecord is more than that of a film of as many frames as there may be.
const largestRecord = 32 << 20

// parseRecord reads a record, and refuses one that this program cannot have
// written.
func parseRecord(text []byte) (Record, error) {
	var r Record
	if err := parse(text, &r); err != nil {
		return r, err
	}
	switch {
	case r.ID == "":
		return r, fmt.Errorf("task %q: expected a verb and a name", r.ID)
	case !r.Ended():
		return r, fmt.Errorf("state %q: expected %s, %s or %s", r.State, Done, Failed, LeftOut)
	case r.State == Done && !isHash(r.Key):
		return r, fmt.Errorf("key %q: expected a SHA-256", r.Key)
	case !(r.Seconds >= 0 && r.Seconds < longestTask):
		return r, fmt.Errorf("seconds %v: expected a time", r.Seconds)
	case shown(r.Error) != r.Error:
		return r, fmt.Errorf("error %q: expected a line of text", r.Error)
	}
	for _, f := range r.Inputs {
		if err := f.check(path.Base(f.Path) == f.Path); err != nil {
			return r, fmt.Errorf("inputs: %w", err)
		}
	}
	shapes := shapesOf(r.ID)
	for _, f := range r.Files {
		first, _, _ := strings.Cut(f.Path, "/")
		if err := f.check(!strings.EqualFold(first, statusFolder)); err != nil {
			return r, fmt.Errorf("files: %w", err)
		}
		if !slices.ContainsFunc(shapes, func(s shape) bool { return s.fits(f.Path) }) {
			return r, fmt.Errorf("files: path %q: expected one that this task can make", f.Path)
		}
	}
	return r, nil
}

// check refuses a file that lies elsewhere, or has no hash.
func (f File) check(fits bool) error {
	if !fits || f.Path == "." || !filepath.IsLocal(filepath.FromSlash(f.Path)) || path.Clean(f.Path) != f.Path {
		return fmt.Errorf("path %q: expected one of a file in the results, and not among the records", f.Path)
	}
	if !isHash(f.SHA256) {
		return fmt.Errorf("%s: sha256 %q: expected 64 hexadecimal digits", f.Path, f.SHA256)
	}
	return nil
}

var hexadecimal = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^[0-9a-f]{64}$`) })

func isHash(text string) bool { return hexadecimal().MatchString(text) }

// shown is a text as it can be shown in a line.
func shown(text string) string {
	return strings.Map(func(r rune) rune {
		if r == unicode.ReplacementChar || !unicode.IsPrint(r) {
			return ' '
		}
		return r
	}, text)
}

// parse reads a JSON object; members that it does not know mean nothing.
func parse[T any](text []byte, into *T) error {
	there := into
	if err := json.Unmarshal(text, &there); err != nil {
		return errors.New(strings.TrimPrefix(err.Error(), "json: "))
	}
	if there == nil {
		return errors.New("null: expected an object")
	}
	return nil
}
