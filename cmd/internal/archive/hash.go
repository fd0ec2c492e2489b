package archive

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"calotte/cmd/internal/disk"
	"calotte/topo/provenance"
)

// Same reports whether a file has the hash that is recorded under its name.
func Same(ctx context.Context, path string, recorded []provenance.Source) (bool, error) {
	sum, err := hashFile(ctx, path)
	return sum != "" && slices.Contains(recorded, provenance.Source{Name: filepath.Base(path), SHA256: sum}), err
}

// hashFile is the SHA-256 of a file's content, in hexadecimal digits. It is
// empty for a table that is larger than any that is read: a hole of terabytes
// takes no room on disk, and days to hash.
func hashFile(ctx context.Context, path string) (string, error) {
	file, info, err := disk.Open(path)
	if err != nil {
		return "", err
	}
	defer file.Close()
	if info.Size() > disk.LargestTable && slices.Contains(tableEndings, strings.ToLower(filepath.Ext(path))) {
		return "", nil
	}
	sum, err := HashOf(interruptible{ctx, file})
	if err != nil {
		return "", fmt.Errorf("hashing %s: %w", path, err)
	}
	return sum, nil
}

// tableEndings are those of files that are read whole; recordings and epochs
// may be larger.
var tableEndings = []string{".tsv", ".csv", ".json"}

// HashOf is the SHA-256 of what is read, in hexadecimal digits.
func HashOf(r io.Reader) (string, error) {
	h := sha256.New()
	_, err := io.Copy(h, r)
	return hex.EncodeToString(h.Sum(nil)), err
}

// An interruptible reader ends with its context.
type interruptible struct {
	ctx context.Context
	io.Reader
}

func (r interruptible) Read(p []byte) (int, error) {
	if err := r.ctx.Err(); err != nil {
		return 0, err
	}
	return r.Reader.Read(p)
}
