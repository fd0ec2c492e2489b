package disk

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"os"
)

// A Spool is a file that is written step by step, beside its place, since it may be
// larger than memory. It takes its place with the other files of the run.
type Spool struct {
	*os.File
	files  *Files
	path   string
	queued bool
}

// Spool begins a file that is to lie at path in the end. Its folder may be made later.
func (f *Files) Spool(path string) (*Spool, error) {
	file, err := beside(path)
	if err != nil {
		return nil, writing(path, err)
	}
	return &Spool{File: file, files: f, path: path}, nil
}

// Write writes on; errors name the file that is to be.
func (s *Spool) Write(b []byte) (int, error) {
	n, err := s.File.Write(b)
	if err != nil {
		err = writing(s.path, err)
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
	if err = errors.Join(err, s.File.Close()); err != nil {
		return "", writing(s.path, err)
	}
	s.queued = true
	s.files.queue = append(s.files.queue, &pending{path: s.path, beside: s.Name()})
	return hex.EncodeToString(h.Sum(nil)), nil
}

// Discard removes the file unless it has taken its place.
func (s *Spool) Discard() {
	if !s.queued {
		s.File.Close()
	}
	os.Remove(s.Name()) // gone already where it took its place
}
