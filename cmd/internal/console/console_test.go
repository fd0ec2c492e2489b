package console

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"syscall"
	"testing"
)

func TestReport(t *testing.T) {
	for _, c := range []struct {
		err  error
		code int
		want string
	}{
		{nil, OK, ""},
		{errors.New("broken\nin two lines"), Failed, "calotte: broken in two lines\n"},
		{Usagef("no such %s", "flag"), Misused, "calotte: no such flag\n"},
		{fmt.Errorf("map: %w", Usagef("x")), Misused, "calotte: map: x\n"},
		{fmt.Errorf("averaging: %w", context.Canceled), Interrupted,
			"calotte: interrupted; what is on disk is whole\n"},
		{&os.PathError{Op: "open", Path: "a.edf", Err: os.ErrNotExist}, Failed,
			"calotte: open a.edf: file does not exist: check the name and the folder\n"},
		{fmt.Errorf("writing a.tsv: %w", syscall.ENOSPC), Failed,
			"calotte: writing a.tsv: no space left on device: free some space, or choose another output\n"},
		{&os.PathError{Op: "open", Path: "a.tsv/b", Err: syscall.ENOTDIR}, Failed,
			"calotte: open a.tsv/b: not a directory: a part of the path is a file, not a folder: " +
				"check the path\n"},
	} {
		var b bytes.Buffer
		if code := Report(&b, c.err); code != c.code || b.String() != c.want {
			t.Errorf("%v: exit %d, %q; want %d, %q", c.err, code, b.String(), c.code, c.want)
		}
	}
}

func TestTableKeepsCellsOnTheirLine(t *testing.T) {
	var b bytes.Buffer
	if err := Table(&b, []string{"name", "note"}, [][]string{{"Fz", "a\tb\nc"}}); err != nil {
		t.Fatal(err)
	}
	if b.String() != "name\tnote\nFz\ta b c\n" {
		t.Errorf("%q", b.String())
	}
}

func TestTableHoldsNothingThatActs(t *testing.T) {
	var b bytes.Buffer
	if err := Table(&b, []string{"name"}, [][]string{{"a\x1b[31m\u009b\x7fb"}}); err != nil ||
		b.String() != "name\na [31m  b\n" {
		t.Errorf("%q, %v", b.String(), err)
	}
}
