package intake

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/topo/provenance"
	"calotte/topo/recording"
	"calotte/topo/recording/array"
)

// A Recording is a recording with its file, whose hash is computed while
// the samples are read.
type Recording struct {
	*recording.Recording
	Path string
	size int64
	file *os.File
	hash chan hashed

	Bad, others []int    // signals marked bad, and those that are no EEG
	Mains       float64  // Hz; zero: not known
	Sidecars    []string // files that say something of it
}

type hashed struct {
	sum string
	err error
}

// openFile opens a recording as what it is.
func (f *Flags) openFile(path string) (*Recording, error) {
	file, info, err := disk.Open(path)
	if err != nil {
		return nil, err
	}
	rec, err := f.read(path, file, info.Size())
	if err != nil {
		err = fmt.Errorf("%s: %w", path, err)
		file.Close()
		return nil, err
	}
	r := &Recording{Recording: rec, Path: path, size: info.Size(), file: file, hash: make(chan hashed, 1)}
	go func() {
		sum, err := sumOf(file, info)
		r.hash <- hashed{sum, err}
	}()
	return r, nil
}

func (f *Flags) read(path string, file io.ReaderAt, size int64) (*recording.Recording, error) {
	start, err := beginning(file, size)
	switch {
	case err != nil:
		return nil, err
	case f.Array.isArray(path, start):
		return f.Array.read(path, file, size)
	}
	rec, err := recording.Open(file, size, recording.Options{AllowTruncated: f.truncated})
	if err != nil {
		return nil, explain(err, path, file, size)
	}
	if f.Array.Given() || f.Array.Sites != nil || f.Array.Rate != 0 {
		return nil, console.Usagef("--rate, --unit and --sites are for arrays, and this is %v, which says "+
			"it itself: "+
			"leave them out", rec.Kind)
	}
	return rec, nil
}

// beginning is as much of a file as tells what it is.
func beginning(file io.ReaderAt, size int64) ([]byte, error) {
	start := make([]byte, min(size, 520))
	_, err := file.ReadAt(start, 0)
	if err == io.EOF {
		err = nil
	}
	return start, err
}

// explain says of a file that could not be opened as a recording what it is
// instead, or how its whole records can be used all the same.
func explain(err error, path string, file io.ReaderAt, size int64) error {
	start, readErr := beginning(file, size)
	if readErr != nil {
		return err
	}
	if foreign := notRecording(path, start); foreign != nil {
		return foreign
	}
	var fault *recording.FormatError
	whole, lenient := recording.Open(file, size, recording.Options{AllowTruncated: true})
	if lenient != nil || !errors.As(err, &fault) {
		return err
	}
	// The package's own advice is that of its option; here a flag stands
	// for it.
	want, _, _ := strings.Cut(fault.Want, " (")
	how := "the file is shorter than its header says"
	if strings.HasPrefix(want, fmt.Sprintf("%d records ", whole.Records)) {
		how = "the file is longer than its header says"
	}
	return fmt.Errorf("%s: byte %d: got %s, want %s; --allow-truncated uses %s",
		how, fault.Offset, fault.Got, want, console.Plural(whole.Records, "record", "records"))
}

// notRecording says of a file that is none what it is instead; nil where its
// first bytes or its name say that it could be one.
func notRecording(path string, start []byte) error {
	if recording.Recognize(start) || array.Recognize(start) {
		return nil
	}
	foreign, kind := array.Foreign(start), disk.Describe(start)
	switch {
	case foreign != "":
		return errors.New("this is " + foreign)
	case kind != "":
		return fmt.Errorf("this is %s: expected a recording such as rec.edf", kind)
	case len(start) == 0:
		return nil
	case Tabular(path):
		return errors.New("this is a table: expected a recording such as rec.edf (combine, map and values take " +
			"tables), or give --rate and --unit where it holds one, a column a site")
	case !slices.Contains([]string{".edf", ".bdf", ".npy"}, strings.ToLower(filepath.Ext(path))):
		return errors.New("not a recording format that calotte reads: export EDF, BDF or an array " +
			"(.npy, .mat with " +
			"-v7, .csv)")
	}
	return nil
}

// source waits for the hash.
func (r *Recording) source() (provenance.Source, error) {
	h := <-r.hash
	r.hash <- h
	if h.err != nil {
		return provenance.Source{}, fmt.Errorf("hashing %s: %w", r.Path, h.err)
	}
	return provenance.Source{Name: filepath.Base(r.Path), SHA256: h.sum}, nil
}

// Close ends the hashing, by taking the file from under it, and the reading.
func (r *Recording) Close() error { return r.file.Close() }

// RefuseCopies refuses the same bytes under two names, which would count each
// epoch twice. It waits for hashes only where files have the same size.
func RefuseCopies(recordings []*Recording) error {
	for i, r := range recordings {
		for _, o := range recordings[:i] {
			if o.size != r.size {
				continue
			}
			mine, err := r.source()
			if err != nil {
				return err
			}
			other, err := o.source()
			if err != nil {
				return err
			}
			if other.SHA256 == mine.SHA256 {
				return fmt.Errorf("%s and %s hold the same recording, byte for byte: give one of them",
					o.Path,
					r.Path)
			}
		}
	}
	return nil
}

// Events lists the events of several recordings.
func Events(recordings []*Recording) []recording.Event {
	var all []recording.Event
	for _, r := range recordings {
		all = append(all, r.Events...)
	}
	return all
}

// Tabular reports whether a file is taken for an average rather than a
// recording.
func Tabular(path string) bool {
	return slices.Contains([]string{".tsv", ".csv", ".txt", ".json"}, strings.ToLower(filepath.Ext(path)))
}
