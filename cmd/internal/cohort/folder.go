package cohort

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"

	"calotte/cmd/internal/disk"
)

// lockName is the file among the records that a run at work locks.
const lockName = ".lock"

// deepest is how deep below the results a task writes: the frames of a film.
const deepest = 2

// Open makes the results and the folder of the records in them. Alone it is for
// a run, which no other may join, and clears away what a killed one left half
// written; else for one task of several side by side.
func (l *Ledger) Open(ctx context.Context, alone bool) (closed func(), err error) {
	if err := l.reach(l.Dir, disk.MakeFolder); err != nil {
		return nil, err
	}
	if err := l.makeStatus(); err != nil {
		return nil, err
	}
	const lock = statusFolder + "/" + lockName
	if info, err := l.folder.Lstat(lock); err == nil && !info.Mode().IsRegular() {
		return nil, fmt.Errorf("%s is no file: remove it", l.path(lock))
	}
	unlock, ok, err := l.folder.TryLock(lock, !alone)
	if err != nil {
		return nil, err
	}
	if !ok {
		return nil, fmt.Errorf("%s: another run is at work there: wait for it, or see calotte cohort status",
			l.Dir)
	}
	err = l.claim(ctx)
	if err == nil && alone {
		err = l.folder.SweepAll(ctx, deepest)
	}
	if err != nil {
		unlock()
		return nil, err
	}
	return unlock, nil
}

// makeStatus makes the folder of the records. A folder that holds other files,
// and does not say whose results it is, is somebody's.
func (l *Ledger) makeStatus() error {
	if err := l.checkStatus(); err != nil {
		return err
	}
	free, err := l.isFree()
	if err != nil {
		return err
	}
	if !free && !l.Force {
		return fmt.Errorf("%s holds other files, and does not say that it is the results of a study: "+
			"choose another "+
			"folder, or --force to write into it", l.Dir)
	}
	if err := l.folder.Make(statusFolder); !errors.Is(err, fs.ErrExist) { // another run was faster
		return err
	}
	return nil
}

// checkStatus refuses what cannot be the folder of the records.
func (l *Ledger) checkStatus() error {
	info, err := l.folder.Stat(statusFolder)
	if err == nil && !info.IsDir() {
		return fmt.Errorf("%s is a file: expected the folder of the records: move it away, or choose "+
			"another folder "+
			"for the results", l.path(statusFolder))
	}
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}

// isFree reports whether a run may write into the folder: it says whose results
// it is, which claim looks at, or holds nothing but what a run that was killed
// before has left. That a folder is named as that of the records says nothing.
func (l *Ledger) isFree() (bool, error) {
	_, err := l.folder.Lstat(ownerFile)
	if err == nil || !errors.Is(err, fs.ErrNotExist) {
		return true, err
	}
	entries, err := l.folder.ReadDir(".")
	if err != nil || len(entries) == 0 {
		return true, err
	}
	if len(entries) > 1 || entries[0].Name() != statusFolder {
		return false, nil
	}
	begun, err := l.folder.ReadDir(statusFolder)
	return !slices.ContainsFunc(begun,
		func(e fs.DirEntry) bool { return e.Name() != lockName && !disk.IsLeftover(e.Name()) }), err
}

// An owner is the recipe whose results a folder holds: its base name, and the
// SHA-256 of where it lies as seen from them, since that may name other
// folders.
type owner struct {
	Recipe string `json:"recipe"`
	Place  string `json:"place"`
}

// owner is that of the ledger.
func (l *Ledger) owner() (owner, error) {
	recipe, err := filepath.Abs(l.Recipe)
	if err != nil {
		return owner{}, err
	}
	place := recipe
	if seen, err := filepath.Rel(l.full, recipe); err == nil {
		place = seen
	}
	sum := sha256.Sum256([]byte(filepath.ToSlash(place)))
	return owner{valid(filepath.Base(recipe)), hex.EncodeToString(sum[:])}, nil
}

// claim notes whose results these are, and refuses those of another recipe.
func (l *Ledger) claim(ctx context.Context) error {
	mine, err := l.owner()
	if err != nil {
		return err
	}
	var theirs owner
	text, err := l.read(ownerFile, largestRecord)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return l.putJSON(ctx, ownerFile, mine)
	case err == nil:
		if err = parse(text, &theirs); err == nil && (theirs.Recipe == "" || !isHash(theirs.Place)) {
			err = errors.New("expected the name of a recipe, and the SHA-256 of its place")
		}
		if err != nil {
			err = fmt.Errorf("%s names no recipe: %w", l.path(ownerFile), err)
		}
	}
	switch {
	case err != nil && !l.Force:
		return fmt.Errorf("%w: --force makes it anew, if these are the results of this recipe", err)
	case err == nil && theirs == mine:
		return nil
	case err == nil && !l.Force:
		return fmt.Errorf("%s holds the results of another recipe, %s: give this one another results: "+
			"folder, or "+
			"--force to replace them", l.Dir, shown(theirs.Recipe))
	}
	return l.putJSON(ctx, ownerFile, mine)
}

// NewLogs makes a folder for what the jobs of a cluster print, and returns its
// full path. It is always a new one: programs that know nothing of the results
// are to write there.
func (l *Ledger) NewLogs() (string, error) {
	const jobs = statusFolder + "/jobs"
	if err := l.folder.Make(jobs); err != nil && !errors.Is(err, fs.ErrExist) {
		return "", err
	}
	for n := 1; ; n++ {
		name := jobs + "/" + strconv.Itoa(n)
		err := l.folder.Make(name)
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		return filepath.Join(l.full, filepath.FromSlash(name)), err
	}
}
