// Package console is what every verb shares with the terminal: exit codes,
// one-line errors, tables and progress.
package console

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"
	"syscall"
	"unicode"
)

// Exit codes of the program.
const (
	OK          = 0
	Failed      = 1
	Misused     = 2
	Interrupted = 130 // by Ctrl-C; by another signal 128 and its number
	// A death of the program itself is none of these: it aborts.
)

// A UsageError is a mistake on the command line, found before any work began.
type UsageError struct{ Err error }

func (e *UsageError) Error() string { return e.Err.Error() }
func (e *UsageError) Unwrap() error { return e.Err }

// Usagef returns a UsageError.
func Usagef(format string, args ...any) error {
	return &UsageError{fmt.Errorf(format, args...)}
}

// Report writes err in one line and returns the exit code that belongs to it.
func Report(w io.Writer, err error) int {
	if err == nil {
		return OK
	}
	if errors.Is(err, context.Canceled) {
		fmt.Fprintln(w, "calotte: interrupted; what is on disk is whole")
		var stop Stop
		if errors.As(err, &stop) {
			return 128 + int(stop.Signal)
		}
		return Interrupted
	}
	fmt.Fprintln(w, "calotte: "+Line(plain(err)))
	var usage *UsageError
	if errors.As(err, &usage) {
		return Misused
	}
	return Failed
}

// advice is what to do about the system's own errors.
var advice = []struct {
	err  error
	text string
}{
	{fs.ErrNotExist, "check the name and the folder"},
	{fs.ErrPermission, "choose a place that you may write to, or files that you may read"},
	{syscall.ENOSPC, "free some space, or choose another output"},
	{syscall.ENOTDIR, "a part of the path is a file, not a folder: check the path"},
	{syscall.EISDIR, "this is a folder: give the name of a file"},
}

// plain is the error's text; the system's own errors get the words that say
// what to do.
func plain(err error) string {
	for _, a := range advice {
		if errors.Is(err, a.err) {
			return err.Error() + ": " + a.text
		}
	}
	return err.Error()
}

// Table prints rows as TSV. Tabs, line breaks and other characters that act
// become blanks.
func Table(w io.Writer, header []string, rows [][]string) error {
	clean := func(r rune) rune {
		if unicode.IsControl(r) {
			return ' '
		}
		return r
	}
	var b strings.Builder
	for _, row := range append([][]string{header}, rows...) {
		for i, cell := range row {
			if i > 0 {
				b.WriteByte('\t')
			}
			b.WriteString(strings.Map(clean, cell))
		}
		b.WriteByte('\n')
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// Plural is "1 epoch", "2 epochs".
func Plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
