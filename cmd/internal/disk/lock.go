package disk

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
	"time"
)

// lockName is the file whose lock keeps other runs out of a folder. It is there
// while a run puts files in their places, and says whose it is.
const lockName = leftover + "lock"

// A run that waits looks often at first whether the other has ended, and then
// seldom; for whom it waits it says where that takes long.
const (
	firstGlance = time.Millisecond
	lastGlance  = 50 * time.Millisecond
	patience    = 500 * time.Millisecond
)

// lock waits until no other run puts files into the folder, and keeps others
// out until unlock. The lock ends with the process, however that ends. For whom
// it waits is told to waits; the end of the context ends the wait.
func (f *Folder) lock(ctx context.Context, who string, waits func(string)) (unlock func(), err error) {
	begun, told := time.Now(), false
	for glance := firstGlance; ; glance = min(2*glance, lastGlance) {
		unlock, other, err := f.tryLock(who)
		if err != nil || unlock != nil {
			return unlock, err
		}
		if !told && waits != nil && time.Since(begun) > patience {
			told = true
			waits(fmt.Sprintf("waiting for %s, which writes into %s; Ctrl-C ends the wait", other, f.path))
		}
		select {
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-time.After(glance):
		}
	}
}

// tryLock takes the lock, or says who has it. A file of a killed run gives way
// to a new one, so that nothing is written but into what this run has made: an
// archive of others may hold a file or a link of that name.
func (f *Folder) tryLock(who string) (unlock func(), other string, err error) {
	if !canLock {
		return func() {}, "", nil // a mixture of two runs is still told by the hashes in its JSON
	}
	file, made, err := f.openLock(lockName)
	if err != nil {
		return nil, "", err
	}
	if !flock(file, false) {
		other := holder(file)
		file.Close()
		return nil, other, nil
	}
	// Who had it before removed the file, maybe after it was opened here.
	if !f.isAt(lockName, file) {
		file.Close()
		return f.tryLock(who)
	}
	unlock = func() {
		f.Remove(lockName)
		file.Close()
	}
	if made {
		fmt.Fprintf(file, "%s%s, process %d", lockMark, who, os.Getpid()) // only for those who wait
		return unlock, "", nil
	}
	if text := beginning(file); text != "" && !strings.HasPrefix(text, lockMark) {
		file.Close()
		return nil, "", f.noLock(lockName)
	}
	unlock()
	return f.tryLock(who)
}

// lockMark begins the text in the file of a lock.
const lockMark = "in use by "

// openLock opens the file of a lock, which it makes where there is none.
func (f *Folder) openLock(name string) (file *os.File, made bool, err error) {
	if err := ask(Call{Op: Making, Path: f.Path(name)}); err != nil {
		return nil, false, err
	}
	for {
		file, err = f.root.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666)
		if err == nil {
			return file, true, nil
		}
		if !errors.Is(err, fs.ErrExist) {
			return nil, false, f.named(name, err)
		}
		info, err := f.root.Lstat(name)
		if err == nil && !info.Mode().IsRegular() {
			return nil, false, f.noLock(name)
		}
		if err == nil {
			file, err = f.root.OpenFile(name, os.O_RDWR, 0)
		}
		if err == nil {
			return file, false, nil
		}
		if !errors.Is(err, fs.ErrNotExist) { // else who had it has just removed it
			return nil, false, f.named(name, err)
		}
	}
}

// isAt reports whether an open file is the one of a name.
func (f *Folder) isAt(name string, file *os.File) bool {
	mine, err := file.Stat()
	there, err2 := f.root.Lstat(name)
	return err == nil && err2 == nil && os.SameFile(mine, there)
}

func (f *Folder) noLock(name string) error {
	return fmt.Errorf("%s is no lock of this program, which it needs that name for: remove it, or move it away",
		f.Path(name))
}

// holder is who wrote into the file of a lock.
func holder(file *os.File) string {
	if who := strings.TrimPrefix(beginning(file), lockMark); who != "" {
		return who
	}
	return "another run"
}

// beginning is the first line or so of a file, in one line.
func beginning(file *os.File) string {
	text, _ := io.ReadAll(io.NewSectionReader(file, 0, 200))
	return strings.Join(strings.Fields(string(text)), " ")
}

// keepAlive marks a file as one that is being written, until it is closed. It
// reports false where somebody has removed the file before.
func keepAlive(file *os.File) bool {
	return flock(file, false) && hasName(file)
}

// keepAlive marks the folder as one that is being filled, until done. It
// reports false where somebody has removed it before.
func (f *Folder) keepAlive() (done func(), ok bool) {
	file, err := f.root.Open(".")
	if err != nil {
		return func() {}, false
	}
	done = func() { file.Close() }
	there, err := os.Lstat(f.path)
	mine, err2 := file.Stat()
	return done, flock(file, false) && err == nil && err2 == nil && os.SameFile(there, mine)
}

// TryLock takes a file, which it makes, as the sign that this run is at work,
// alone or shared with others that share it. It reports whether that was
// possible; the lock ends with the process, or with unlock.
func (f *Folder) TryLock(name string, shared bool) (unlock func(), ok bool, err error) {
	file, _, err := f.openLock(name)
	if err != nil {
		return nil, false, err
	}
	if !flock(file, shared) {
		file.Close()
		return nil, false, nil
	}
	return func() { file.Close() }, true, nil
}
