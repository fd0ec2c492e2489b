package cohort

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"calotte/cmd/internal/archive"
)

// A hashed file is known by size and time, so that recordings need not be read again. A
// file that was changed within a tick of the clock of its system may look unchanged; those
// of the last seconds are not taken.
type hashed struct {
	Size   int64  `json:"size"`
	Time   int64  `json:"time"`
	SHA256 string `json:"sha256"`
}

const freshest = 3 * time.Second

func (l *Ledger) cachePath() string { return filepath.Join(l.Dir, statusFolder, "hashes.json") }

// Load reads the hashes that are known from earlier.
func (l *Ledger) Load() error {
	l.hashes = map[string]hashed{}
	text, err := os.ReadFile(l.cachePath())
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	if json.Unmarshal(text, &l.hashes) != nil {
		l.hashes = map[string]hashed{} // it is only a help
	}
	return nil
}

// Save keeps the hashes.
func (l *Ledger) Save(ctx context.Context) error {
	l.mutex.Lock()
	defer l.mutex.Unlock()
	return l.write(ctx, l.cachePath(), l.hashes)
}

// hash is the SHA-256 of a file's content.
func (l *Ledger) hash(path string) (string, error) {
	info, err := os.Stat(path)
	if err != nil {
		return "", err
	}
	absolute, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256([]byte(absolute))
	name := hex.EncodeToString(sum[:8])
	l.mutex.Lock()
	known, ok := l.hashes[name]
	l.mutex.Unlock()
	if ok && known.Size == info.Size() && known.Time == info.ModTime().UnixNano() {
		return known.SHA256, nil
	}
	text, err := archive.HashFile(path)
	if err != nil {
		return "", err
	}
	if time.Since(info.ModTime()) > freshest {
		l.mutex.Lock()
		l.hashes[name] = hashed{info.Size(), info.ModTime().UnixNano(), text}
		l.mutex.Unlock()
	}
	return text, nil
}
