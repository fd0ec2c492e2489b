package session

import (
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/dialect"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/places"
	"calotte/topo/provenance"
)

// Version goes into the provenance of every output.
const Version = "0.1.0"

// A Session is what all verbs share: the streams and the global flags.
type Session struct {
	Stdin          io.Reader
	Stdout, Stderr io.Writer
	Quiet, Force   bool
	Jobs           int
	Seed           uint64
	Args           []string // the command line
	Within         string   // the folder that holds all outputs; empty: any may
	Outputs        []*disk.Files
	// of recorded work that is done again, all that it may open; nil: it is
	// the user's own
	Places *places.Set
	// of averages that were read for others of the same run; nil: none
	Shelf *archive.Shelf
}

// Files starts the outputs of a run with the given inputs.
func (a *Session) Files(inputs []string) *disk.Files {
	out := &disk.Files{Force: a.Force, Inputs: inputs, Within: a.Within, Who: a.who(), Waits: func(text string) {
		fmt.Fprintln(a.Stderr, text)
	}}
	a.Outputs = append(a.Outputs, out)
	return out
}

// Summary is where the text for people goes: standard output, or standard error
// when a table takes standard output.
func (a *Session) Summary(tableOnStdout bool) io.Writer {
	switch {
	case a.Quiet:
		return io.Discard
	case tableOnStdout:
		return a.Stderr
	}
	return a.Stdout
}

// Notes is where remarks about the data go.
func (a *Session) Notes() io.Writer {
	if a.Quiet {
		return io.Discard
	}
	return a.Stderr
}

// Warn prints remarks that the user should act on, also when quiet.
func (a *Session) Warn(texts []string) {
	for _, text := range texts {
		fmt.Fprintf(a.Stderr, "warning: %s\n", console.Line(text))
	}
}

// Provenance describes this run. Flags that name files or places are left out:
// what was read is in the inputs, with its hash, and where an output went is
// nobody's business.
func (a *Session) Provenance(c *cobra.Command, sources []provenance.Source) provenance.Record {
	settings := map[string]string{}
	c.LocalNonPersistentFlags().VisitAll(func(f *pflag.Flag) {
		if slices.Contains(dialect.FileFlags, f.Name) {
			if f.Name == "windows" && f.Changed { // that they were declared, a methods section says
				settings[f.Name] = filepath.Base(f.Value.String())
			}
			return
		}
		switch f.Name {
		case "help", "output", "in", "format", "source-data", "spec-schema", "serve", "port":
		default:
			if f.Changed || f.DefValue != "" {
				settings[f.Name] = f.Value.String()
			}
			// what is drawn depends on the seed
			if f.Name == "same-number" && f.Changed || f.Name == "arrangements" {
				settings["seed"] = c.Flag("seed").Value.String()
			}
		}
	})
	return provenance.Record{Program: "calotte", Version: Version, MadeOn: MadeOn(), Work: c.Name(),
		Settings:  settings,
		Arguments: a.arguments(c), Inputs: sources}
}

// who is this run, for others that have to wait for it.
func (a *Session) who() string {
	for _, arg := range a.Args {
		if !strings.HasPrefix(arg, "-") {
			return "calotte " + arg
		}
	}
	return "calotte"
}
