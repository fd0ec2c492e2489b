package cohort

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"time"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/disk"
)

// A stamp tells whether a file may have changed, without reading it. A change
// that keeps size and time, as programs make that rewrite a header in place,
// still changes the time that the system itself keeps, and a file that takes
// another's place has another number.
type stamp struct {
	Size int64 `json:"size"`
	Time int64 `json:"time"` // of the content, in ns
	// of the content, name or rights, in ns; 0: the system does not keep it
	Changed int64  `json:"changed,omitzero"`
	Inode   uint64 `json:"inode,omitzero"` // the number of the file; 0: likewise
}

// A hashed file is known by its stamp, so that recordings need not be read
// again.
type hashed struct {
	stamp
	SHA256 string `json:"sha256"`
}

// freshest is the age below which a file's hash is not kept: a change within a
// tick of the clock of its system, at most two seconds, leaves the stamp as it
// is.
const freshest = 2 * time.Second

// keptAPerson is more than the hashes of the files of a person take.
const keptAPerson = 1 << 16

// loadHashes reads the hashes that are known from earlier.
func (l *Ledger) loadHashes() error {
	l.hashes = map[string]hashed{}
	if l.folder == nil {
		return nil
	}
	text, err := l.read(hashesFile, largestRecord+keptAPerson*int64(l.People))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	const advice = "remove it, and the files are read again"
	if err != nil {
		return fmt.Errorf("%w: %s", err, advice)
	}
	err = parse(text, &l.hashes)
	for name, h := range l.hashes {
		if err == nil && !isHash(h.SHA256) {
			err = fmt.Errorf("%s: sha256 %q: expected 64 hexadecimal digits", shown(name), h.SHA256)
		}
	}
	if err != nil {
		return fmt.Errorf("%s holds no hashes: %w: %s", l.path(hashesFile), err, advice)
	}
	return nil
}

// Save keeps the hashes.
func (l *Ledger) Save(ctx context.Context) error {
	l.mutex.Lock()
	defer l.mutex.Unlock()
	return l.putJSON(ctx, hashesFile, l.hashes)
}

// hash is the SHA-256 of a file's content.
func (l *Ledger) hash(path string) (string, error) {
	info, err := l.stat(path)
	if err != nil {
		return "", err
	}
	now, age := stampOf(info), time.Since(changed(info))
	absolute, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256([]byte(absolute))
	name := hex.EncodeToString(sum[:8])
	if known, ok := l.known(name, now); ok {
		return known, nil
	}
	file, err := l.open(path)
	if err != nil {
		return "", err
	}
	defer file.Close()
	text, err := archive.HashOf(file)
	if err != nil {
		return "", fmt.Errorf("hashing %s: %w", path, err)
	}
	if age > freshest {
		l.mutex.Lock()
		defer l.mutex.Unlock()
		l.hashes[name] = hashed{now, text}
	}
	return text, nil
}

// known is the hash that is kept of a file with a stamp; that of another stamp
// is forgotten.
func (l *Ledger) known(name string, now stamp) (sum string, ok bool) {
	l.mutex.Lock()
	defer l.mutex.Unlock()
	if known, ok := l.hashes[name]; ok && known.stamp == now && !l.reread {
		return known.SHA256, true
	}
	delete(l.hashes, name)
	return "", false
}

func stampOf(info fs.FileInfo) stamp {
	s := stamp{Size: info.Size(), Time: info.ModTime().UnixNano()}
	s.Changed, s.Inode = disk.SystemStamp(info)
	return s
}

// changed is when a file has changed last, as far as is known.
func changed(info fs.FileInfo) time.Time {
	if at, _ := disk.SystemStamp(info); at > info.ModTime().UnixNano() {
		return time.Unix(0, at)
	}
	return info.ModTime()
}
