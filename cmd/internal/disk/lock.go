package disk

import (
	"context"
	"fmt"
	"io"
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

// lock waits until no other run puts files into the folder, and keeps others out
// until unlock. The lock ends with the process, however that ends. For whom it
// waits is told to waits; the end of the context ends the wait.
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

// tryLock takes the lock, or says who has it.
func (f *Folder) tryLock(who string) (unlock func(), other string, err error) {
	if !canLock {
		return func() {}, "", nil // a mixture of two runs is still told by the hashes in its JSON
	}
	if err := ask(Call{Op: Making, Path: f.Path(lockName)}); err != nil {
		return nil, "", err
	}
	file, err := f.root.OpenFile(lockName, os.O_RDWR|os.O_CREATE, 0o666)
	if err != nil {
		return nil, "", f.named(lockName, err)
	}
	if !flock(file, false) {
		other := holder(file)
		file.Close()
		return nil, other, nil
	}
	// Who had it before removed the file, maybe after it was opened here.
	mine, err := file.Stat()
	there, err2 := f.root.Stat(lockName)
	if err != nil || err2 != nil || !os.SameFile(mine, there) {
		file.Close()
		return f.tryLock(who)
	}
	file.Truncate(0)
	fmt.Fprintf(file, "%s, process %d", who, os.Getpid()) // only for those who wait
	return func() {
		f.Remove(lockName)
		file.Close()
	}, "", nil
}

// holder is who wrote into the file of a lock.
func holder(file *os.File) string {
	text, _ := io.ReadAll(io.NewSectionReader(file, 0, 200))
	if who := strings.Join(strings.Fields(string(text)), " "); who != "" {
		return who
	}
	return "another run"
}

// keepAlive marks a file as one that is being written, until it is closed. It
// reports false where somebody has removed the file before.
func keepAlive(file *os.File) bool {
	return flock(file, false) && hasName(file)
}

// keepAlive marks the folder as one that is being filled, until done.
func (f *Folder) keepAlive() (done func()) {
	file, err := f.root.Open(".")
	if err != nil {
		return func() {}
	}
	flock(file, false)
	return func() { file.Close() }
}

// TryLock takes a file, which it makes, as the sign that this run is at work, alone or shared
// with others that share it. It reports whether that was possible; the lock ends with the
// process, or with unlock.
func (f *Folder) TryLock(name string, shared bool) (unlock func(), ok bool, err error) {
	if err := ask(Call{Op: Making, Path: f.Path(name)}); err != nil {
		return nil, false, err
	}
	file, err := f.root.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o666)
	if err != nil {
		return nil, false, f.named(name, err)
	}
	if !flock(file, shared) {
		file.Close()
		return nil, false, nil
	}
	return func() { file.Close() }, true, nil
}
