package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/likeness"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/session"
	"calotte/topo/provenance"
)

type originFlags struct {
	folders []string
	format  option.Format
	redo    bool
}

func (a *app) origin() *cobra.Command {
	var f originFlags
	c := &cobra.Command{
		Use:   "origin FILE…",
		Short: "Say what made a figure or table, and whether that is unchanged",
		Long: `Origin reads back what a figure or table says of itself: the program and its version,
the settings, and the inputs with their SHA-256. It looks for each input, beside the file
and in the folders given by --in, and tells whether it is unchanged, changed, or not here;
inputs that were made by calotte are followed to their own inputs, down to the recordings.

With --redo it does the recorded work again, in a folder of its own that it removes, and
tells what comes out: the same bytes, the same within rounding, which is what another kind of
processor makes of the same work, or something different, which is an error. The file may
be a stranger's: nothing of yours is written, and only inputs beside the file and in the
folders given by --in are opened.`,
		Example: `  calotte origin calotte-demo/results/figures/maps.png --in calotte-demo --in calotte-demo/recordings/sub-01/eeg
  calotte origin calotte-demo/results/figures/maps.png --in calotte-demo --redo
  calotte origin calotte-demo/results/group/pilots_known_average.tsv --format json`,
		Args: session.AtLeast(1, "a figure or a table"),
		RunE: func(c *cobra.Command, args []string) error {
			if f.redo {
				return a.runRedo(c, f, args)
			}
			return a.runOrigin(c.Context(), f, args)
		},
	}
	c.Flags().StringArrayVar(&f.folders, "in", nil, "`FOLDER` to look for inputs in; repeat for more")
	c.Flags().Var(&f.format, "format", "tsv for text, or json")
	c.Flags().BoolVar(&f.redo, "redo", false, "do the recorded work again and compare")
	return c
}

// runRedo does the work behind each file again. That one comes out otherwise is
// a failure.
func (a *app) runRedo(c *cobra.Command, f originFlags, paths []string) error {
	if err := archive.CheckFolders(f.folders); err != nil {
		return err
	}
	var differ []string
	for _, path := range paths {
		result, err := a.redo(c.Context(), path, f.folders)
		if err != nil {
			return err
		}
		text := map[likeness.Verdict]string{
			likeness.SameBytes: "the same bytes", likeness.Rounded: "the same within rounding",
			likeness.Different: "different",
		}[result.Verdict]
		if result.Reason != "" {
			text += " (" + result.Reason + ")"
		}
		fmt.Fprintf(a.Stdout, "%s: done again, %s\n", path, text)
		if result.Verdict == likeness.Different {
			differ = append(differ, path)
		}
	}
	if differ != nil {
		return fmt.Errorf("%s: came out otherwise when done again", strings.Join(differ, ", "))
	}
	return nil
}

func (a *app) runOrigin(ctx context.Context, f originFlags, paths []string) error {
	if err := archive.CheckFolders(f.folders); err != nil {
		return err
	}
	var found []archive.Origin
	for _, path := range paths {
		o, err := a.Shelf.TraceOrigin(ctx, path, f.folders)
		if err != nil {
			return err
		}
		found = append(found, o)
	}
	if f.format.JSON {
		return console.JSON(a.Stdout, found)
	}
	text := bufio.NewWriter(a.Stdout)
	counts := map[string]int{}
	for _, o := range found {
		printOrigin(text, o, 0, map[string]bool{}, counts)
	}
	if err := text.Flush(); err != nil {
		return err
	}
	var parts []string
	for _, state := range []string{archive.Unchanged, archive.Changed, archive.NotHere} {
		if n := counts[state]; n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, state))
		}
	}
	if parts != nil {
		fmt.Fprintf(a.Summary(false), "files: %s\n", strings.Join(parts, ", "))
		if counts[archive.NotHere] > 0 {
			fmt.Fprintln(a.Summary(false),
				"  what is not here is looked for in the folders that --in names; repeat it for more")
		}
	}
	return nil
}

// printOrigin writes a file and, further in, what it was made from. What a file
// was made from is written once.
func printOrigin(w io.Writer, o archive.Origin, depth int, seen map[string]bool, counts map[string]int) {
	indent := strings.Repeat("  ", depth)
	line := indent + console.Echo(o.Name)
	if o.State != "" {
		line = fmt.Sprintf("%-*s  %s", 44, line, o.State)
		if !seen[o.Name] {
			counts[o.State]++
		}
	}
	fmt.Fprintln(w, strings.TrimRight(line, " "))
	if o.Made == nil || seen[o.Name] {
		seen[o.Name] = true
		return
	}
	seen[o.Name] = true
	fmt.Fprintf(w, "%s  by %s\n", indent, work(o.Made))
	for _, in := range o.Inputs {
		printOrigin(w, in, depth+1, seen, counts)
	}
	if o.More {
		fmt.Fprintf(w, "%s  and so on\n", indent)
	}
}

// mostSettings is how many settings a line tells; no verb has so many flags.
const mostSettings = 100

// work is a line about what was done, as a command would say it.
func work(p *provenance.Record) string {
	text := console.Echo(p.Program) + " " + console.Echo(p.Version) + " " + console.Echo(p.Work)
	names := slices.Sorted(maps.Keys(p.Settings))
	for _, name := range names[:min(len(names), mostSettings)] {
		if value := p.Settings[name]; value != "" && value != "false" {
			text += " --" + console.Echo(name)
			if value != "true" {
				text += " " + console.ShellQuote(console.Echo(value))
			}
		}
	}
	if more := len(names) - mostSettings; more > 0 {
		text += fmt.Sprintf(" and %d settings more", more)
	}
	return text
}
