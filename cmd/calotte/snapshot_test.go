package main

import (
	"crypto/sha256"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
)

// snapshot is what every file below a folder holds: its hash, or where a link
// leads.
func snapshot(t *testing.T, dir string) map[string]string {
	t.Helper()
	all := map[string]string{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		name, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		switch {
		case d.Type()&fs.ModeSymlink != 0:
			all[name], err = os.Readlink(path)
		case d.Type().IsRegular():
			var info fs.FileInfo
			if info, err = d.Info(); err != nil || info.Size() > 1<<26 { // a hole
				all[name] = fmt.Sprint(info.Size(), info.ModTime())
				break
			}
			var b []byte
			b, err = os.ReadFile(path)
			all[name] = fmt.Sprintf("%x", sha256.Sum256(b))
		default:
			all[name] = d.Type().String()
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}
