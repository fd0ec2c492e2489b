package main

import (
	"io"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/pflag"

	"calotte/cmd/internal/option"
	"calotte/cmd/internal/session"
)

// The help of a verb with many flags shows each of them once, below a title, in
// lines that fit.
func TestGroupedHelp(t *testing.T) {
	help := must(t, "average", "--help")
	_, help, _ = strings.Cut(help, "Usage:")
	a := &app{&session.Session{Stdin: strings.NewReader(""), Stdout: io.Discard, Stderr: io.Discard}}
	n := 0
	a.average().Flags().VisitAll(func(f *pflag.Flag) {
		n++
		begins := regexp.MustCompile(`(?m)^(  -\w, |      )--` + f.Name + `\b[^-]`)
		if found := len(begins.FindAllString(help, -1)); found != 1 {
			t.Errorf("--%s stands %d times in the help", f.Name, found)
		}
	})
	if n < 40 {
		t.Errorf("only %d flags", n)
	}
	if strings.Contains(help, "(default )") ||
		!strings.Contains(help, "\nWhich epochs are dropped:\n      --reject limit") {
		t.Errorf("empty defaults, or no titles:\n%s", help)
	}
	for line := range strings.Lines(help) {
		if len([]rune(line)) > option.HelpColumns+1 {
			t.Errorf("%d columns: %s", len([]rune(line)), line)
		}
	}
}
