package disk

import (
	"crypto/sha256"
	"encoding/hex"
	"io"
	"path/filepath"
	"slices"
)

// A Spool is a file that is written step by step, beside its place, since it
// may be larger than memory. It takes its place with the other files of the
// run.
type Spool struct {
	*file
	files *Files
	to    *pending
}

// Spool begins a file that is to lie at path in the end. It is gone with the
// run's other files where the run is abandoned.
func (f *Files) Spool(path string) (*Spool, error) {
	folder, err := f.reach(f.Within, filepath.Dir(path))
	if err != nil {
		return nil, writing(filepath.Dir(path), err)
	}
	made, err := beside(folder)
	if err != nil {
		return nil, writing(path, err)
	}
	s := &Spool{made, f, &pending{path: path, folder: folder, file: made}}
	f.begun = append(f.begun, s.to)
	return s, nil
}

// Write writes on; errors name the file that is to be.
func (s *Spool) Write(b []byte) (int, error) {
	n, err := s.file.Write(b)
	if err != nil {
		err = writing(s.to.path, err)
	}
	return n, err
}

// Close ends the file, queues it, and returns its SHA-256 in hexadecimal.
func (s *Spool) Close() (sum string, err error) {
	h := sha256.New()
	if _, err = s.Seek(0, io.SeekStart); err == nil {
		_, err = io.Copy(h, s.File)
	}
	if err == nil {
		err = s.Sync()
	}
	if err != nil {
		return "", writing(s.to.path, err)
	}
	s.files.begun = slices.DeleteFunc(s.files.begun, func(p *pending) bool { return p == s.to })
	s.files.queue = append(s.files.queue, s.to)
	return hex.EncodeToString(h.Sum(nil)), nil
}
