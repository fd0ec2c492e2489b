// Package likeness tells whether two files of the same work are the same: to
// the byte, or within rounding. Processors and compilers round differently, as
// where a product and a sum become one step, so the last digits of a number say
// where it was computed, not what was.
//
// # Decisions
//
// The compiler makes one step of a product and a sum on arm64, and on amd64
// from v3 on, and gonum has assembly on amd64 alone: the demo's averages differ
// by up to 1e-10 of the largest value. Numbers are compared to 1e-9 of the
// largest of their kind, or to a step of the last printed decimal where that is
// below 1e-5 of it; drawings to 0.01 pt; pictures to 16 of 255 in one dot of a
// thousand. Where rounding decides between two orders or texts the verdict is
// "different": no order may depend on a last bit.
package likeness

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
)

// A Verdict says how alike two files are.
type Verdict int

const (
	SameBytes Verdict = iota
	Rounded           // the same numbers, within rounding
	Different
)

// A Result is a verdict with its reason: what differs first, or by how much
// numbers and pixels differ at most, empty where only the record of the machine
// does.
type Result struct {
	Verdict Verdict
	Reason  string
}

// Compare compares a file of a folder with one of the same name in another,
// which was made anew. Files that are named in them with their hashes are
// compared as well where these differ. The first may be anyone's: what is read
// is no more than it holds, and lies in its folder.
func Compare(old, again *disk.Folder, name string) (Result, error) {
	c := &comparison{old: old, again: again, seen: map[string]bool{}}
	same, err := c.file(name)
	var differs *difference
	switch {
	case errors.As(err, &differs):
		return Result{Different, differs.Error()}, nil
	case err != nil:
		return Result{}, err
	case same:
		return Result{Verdict: SameBytes}, nil
	}
	return Result{Rounded, c.deviations()}, nil
}

// A comparison keeps how far numbers and pixels are apart so far.
type comparison struct {
	old, again *disk.Folder
	seen       map[string]bool

	numbers       float64 // the largest difference, as a share of the largest of its kind
	steppedOff    int     // places in drawings that are a step of the last decimal off
	pixels, among int     // how many differ
	levels        int     // by how much at most, of 255
}

func (c *comparison) deviations() string {
	var texts []string
	if c.numbers > 0 {
		texts = append(texts, fmt.Sprintf("numbers differ by at most %.1g of the largest of their kind",
			c.numbers))
	}
	if c.steppedOff > 0 {
		texts = append(texts, fmt.Sprintf("%s by a step of the last decimal",
			console.Plural(c.steppedOff, "place differs", "places differ")))
	}
	if c.pixels > 0 {
		texts = append(texts, fmt.Sprintf("%d of %d pixels differ, by at most %d of 255", c.pixels, c.among,
			c.levels))
	}
	return strings.Join(texts, "; ")
}

// A difference is why two files are not alike.
type difference struct{ text string }

func (d *difference) Error() string { return d.text }

func differs(format string, a ...any) error { return &difference{fmt.Sprintf(format, a...)} }

// comparer is how files with an ending are compared, nil where that is not
// known.
func comparer(ending string) func(c *comparison, old, again io.ReaderAt, oldSize, againSize int64) error {
	switch strings.ToLower(ending) {
	case ".tsv":
		return inMemory((*comparison).tables)
	case ".json":
		return inMemory((*comparison).described)
	case ".svg":
		return inMemory((*comparison).drawings)
	case ".pdf":
		return inMemory((*comparison).documents)
	case ".html", ".htm":
		return inMemory((*comparison).pages)
	case ".png", ".apng", ".gif", ".tif", ".tiff":
		return (*comparison).pictures
	case ".npy":
		return (*comparison).arrays
	}
	return nil
}

// file compares files of a name, once, and reports whether their bytes are the
// same.
func (c *comparison) file(name string) (same bool, err error) {
	if c.seen[name] {
		return false, nil
	}
	c.seen[name] = true
	again, madeInfo, err := c.again.Open(name)
	if errors.Is(err, fs.ErrNotExist) {
		return false, differs("%s is not made anew", console.Echo(name))
	}
	if err != nil {
		return false, err
	}
	defer again.Close()
	old, info, err := c.old.Open(name)
	if errors.Is(err, fs.ErrNotExist) {
		return false, differs("%s is not here to be compared", console.Echo(name))
	}
	if err != nil {
		return false, err
	}
	defer old.Close()
	if info.Size() == madeInfo.Size() {
		if same, err := sameBytes(old, again); same || err != nil {
			return same, err
		}
	}
	compare := comparer(filepath.Ext(name))
	if compare == nil {
		return false, differs("the bytes differ, and it is not known how to compare such files")
	}
	return false, compare(c, old, again, info.Size(), madeInfo.Size())
}

func sameBytes(a, b *os.File) (bool, error) {
	left, right := make([]byte, 1<<16), make([]byte, 1<<16)
	for {
		n, err := io.ReadFull(a, left)
		m, again := io.ReadFull(b, right)
		if !bytes.Equal(left[:n], right[:m]) {
			return false, nil
		}
		if err == io.EOF || err == io.ErrUnexpectedEOF {
			return true, nil
		}
		if err = errors.Join(err, again); err != nil {
			return false, err
		}
	}
}

// inMemory is a comparison of files that are read whole.
func inMemory(compare func(c *comparison, old, again []byte) error) func(*comparison, io.ReaderAt, io.ReaderAt, int64,
	int64) error {
	return func(c *comparison, old, again io.ReaderAt, oldSize, againSize int64) error {
		if oldSize > largest(againSize) {
			return differs("%d bytes, and now %d", oldSize, againSize)
		}
		left, err := io.ReadAll(io.NewSectionReader(old, 0, oldSize))
		if err != nil {
			return err
		}
		right, err := io.ReadAll(io.NewSectionReader(again, 0, againSize))
		if err != nil {
			return err
		}
		return compare(c, left, right)
	}
}

// largest is what may hold the same numbers as so many bytes: none is so long
// that the other could be shorter than a twentieth of it.
func largest(size int64) int64 { return 20*size + 1<<20 }
