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

// A hashed file is known by its stamp, so that recordings need not be read
// again.
type hashed struct {
	disk.Stamp
	SHA256 string `json:"sha256"`
}

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
	now := disk.StampOf(info)
	settled := now.Settled(time.Now())
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
	if settled { // a hash of what may still change unseen is not kept
		l.mutex.Lock()
		defer l.mutex.Unlock()
		l.hashes[name] = hashed{now, text}
	}
	return text, nil
}

// known is the hash that is kept of a file with a stamp; that of another stamp
// is forgotten.
func (l *Ledger) known(name string, now disk.Stamp) (sum string, ok bool) {
	l.mutex.Lock()
	defer l.mutex.Unlock()
	if known, ok := l.hashes[name]; ok && known.Stamp == now && !l.reread {
		return known.SHA256, true
	}
	delete(l.hashes, name)
	return "", false
}
