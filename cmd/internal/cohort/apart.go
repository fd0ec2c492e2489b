package cohort

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// An apartness keeps results out of recordings: they may lie in a folder of
// their own among them, such as derivatives, but not take the place of what was
// recorded. Places are compared as the system knows them, since links and
// patterns give one place many names.
type apartness struct {
	results  fs.FileInfo     // nil: they are not there yet, so that nothing lies in them
	above    []string        // the results and the folders that they lie in
	compared map[string]bool // folders that hold recordings and are no results
}

func newApartness(results string) *apartness {
	info, _ := os.Stat(results)
	return &apartness{info, ways(results), map[string]bool{}}
}

// check reports whether the results lie where a recording, or a folder of
// recordings, does.
func (a *apartness) check(recordings string) bool {
	for _, dir := range ways(recordings) {
		if a.compared[dir] {
			continue
		}
		if info, err := os.Stat(dir); err == nil && a.results != nil && os.SameFile(info, a.results) {
			return false
		}
		a.compared[dir] = true
	}
	data, err := os.Stat(recordings)
	if err != nil || !data.IsDir() {
		return true
	}
	for _, dir := range a.above {
		parent, err := os.Stat(filepath.Dir(dir))
		if err == nil && strings.HasPrefix(filepath.Base(dir), "sub-") && os.SameFile(parent, data) {
			return false
		}
	}
	return true
}

// ways are a place and all folders above it, by the name that it is given and
// by the one that its links lead to.
func ways(path string) []string {
	var list []string
	for _, way := range []string{path, real(path)} {
		for dir, err := filepath.Abs(way); err == nil; dir = filepath.Dir(dir) {
			list = append(list, dir)
			if dir == filepath.Dir(dir) {
				break
			}
		}
	}
	return list
}

// real is a path without links; what of it is not there yet stays as it is.
func real(path string) string {
	full, err := filepath.Abs(path)
	if err != nil {
		return path
	}
	rest := ""
	for dir := full; ; dir = filepath.Dir(dir) {
		if to, err := filepath.EvalSymlinks(dir); err == nil {
			return filepath.Join(to, rest)
		}
		if dir == filepath.Dir(dir) {
			return full
		}
		rest = filepath.Join(filepath.Base(dir), rest)
	}
}

// checkApart refuses results that lie where recordings do.
func (p *Plan) checkApart(a *apartness, recordings string) error {
	if a.check(recordings) {
		return nil
	}
	return fmt.Errorf("%s: results %s would lie where the recordings are: choose a folder of its own, "+
		"such as results",
		p.Path, p.results)
}
