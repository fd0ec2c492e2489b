package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/dialect"
	"calotte/cmd/internal/disk"
	"calotte/topo/provenance"
)

// version goes into the provenance of every output.
const version = "0.1.0"

// An app is what all verbs share: the streams and the global flags.
type app struct {
	stdin          io.Reader
	stdout, stderr io.Writer
	quiet, force   bool
	jobs           int
	seed           uint64
	args           []string // the command line
	within         string   // the folder that holds all outputs; empty: any may
	outputs        []*disk.Files
	places         *places // of recorded work that is done again, all that it may open; nil: it is the user's own
}

// run carries out one command line.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) error {
	return (&app{stdin: stdin, stdout: stdout, stderr: stderr}).run(ctx, args)
}

// run carries out one command line as it was typed.
func (a *app) run(ctx context.Context, args []string) error {
	return a.runExactly(ctx, disk.Expand(args))
}

// runExactly carries out one command line without patterns, and leaves nothing half written.
func (a *app) runExactly(ctx context.Context, args []string) error {
	a.args = args
	a.stdout, a.stderr = console.Plain(a.stdout), console.Plain(a.stderr)
	root := a.root()
	root.SetArgs(args)
	root.SetOut(a.stdout)
	root.SetErr(a.stderr)
	defer func() {
		for _, out := range a.outputs {
			out.Abandon()
		}
	}()
	return root.ExecuteContext(ctx)
}

const about = `calotte maps event-related potentials over the scalp.

It reads recordings (EDF, EDF+ and their 24-bit variant, files or BIDS folders), averages
the epochs around events, and draws the averages as maps of the head at the latencies
that you name. It also says where the electrodes go on a head that you measured.

A first look, on an invented study that it writes itself:

  calotte demo

Your own recording, in three steps:

  calotte contents rec.edf
  calotte average rec.edf --condition known=T1 --condition novel=T2 -o averages
  calotte map averages/*_average.tsv --at 100ms,170ms,350ms -o maps.pdf

Every quantity takes a unit: 170ms, 0.1Hz, 36.2cm, 8uV. Left and right are the
wearer's. For research and teaching: a map is not a diagnosis.`

func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use:           "calotte",
		Short:         "Map event-related potentials over the scalp",
		Long:          about,
		Version:       version,
		SilenceErrors: true,
		SilenceUsage:  true,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return console.Usagef("unknown command %q: see calotte --help", args[0])
			}
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
		PersistentPreRunE: func(*cobra.Command, []string) error {
			if a.jobs < 0 {
				return console.Usagef("--jobs %d: expected a number of processors, or 0 for all", a.jobs)
			}
			if a.jobs > 0 {
				runtime.GOMAXPROCS(a.jobs)
			}
			return nil
		},
	}
	root.SetVersionTemplate("calotte {{.Version}}\n")
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		text := console.PlainReason(err.Error())
		if flag, unknown := strings.CutPrefix(text, "unknown flag: --"); unknown {
			var names []string
			c.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
			if near := console.Nearest(flag, names); near != "" {
				text += ", did you mean --" + near + "?"
			}
		}
		return console.Usagef("%s (see %s --help)", strings.TrimSuffix(text, "."), c.CommandPath())
	})
	root.SetHelpCommand(help(root))
	global := root.PersistentFlags()
	global.BoolVarP(&a.quiet, "quiet", "q", false, "no progress, no summary, no notes; warnings stay")
	global.BoolVar(&a.force, "force", false, "replace existing outputs")
	global.IntVar(&a.jobs, "jobs", 0, "`N` processors to use; 0: all. Results do not depend on it")
	global.Uint64Var(&a.seed, "seed", 1, "`SEED` of everything random")

	root.AddGroup(
		&cobra.Group{ID: "start", Title: "Start here:"},
		&cobra.Group{ID: "head", Title: "On the head:"},
		&cobra.Group{ID: "data", Title: "From recordings to averages:"},
		&cobra.Group{ID: "look", Title: "Looking at averages:"},
		&cobra.Group{ID: "decide", Title: "Is it real:"},
		&cobra.Group{ID: "tell", Title: "For the paper:"},
	)
	for id, verbs := range map[string][]*cobra.Command{
		"start":  {a.demo(), a.contents(), a.cohort()},
		"head":   {a.place(), a.guide(), a.capcheck()},
		"data":   {a.average(), a.combine()},
		"look":   {a.maps(), a.values(), a.traces(), a.frames(), a.explore()},
		"decide": {a.components(), a.asymmetry(), a.compare()},
		"tell":   {a.origin(), a.methods()},
	} {
		for _, v := range verbs {
			v.GroupID = id
			root.AddCommand(v)
		}
	}
	return root
}

// help explains a verb; an unknown one is a mistake, not a topic.
func help(root *cobra.Command) *cobra.Command {
	return &cobra.Command{
		Use:   "help [command]",
		Short: "Explain a command",
		RunE: func(_ *cobra.Command, args []string) error {
			c, rest, err := root.Find(args)
			if err != nil || len(rest) > 0 {
				return console.Usagef("no command %q to explain: see calotte --help", strings.Join(args, " "))
			}
			return c.Help()
		},
	}
}

// inputs demands at least n arguments, which what names.
func inputs(n int, what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) < n {
			return console.Usagef("%s needs %s: see calotte %s --help", c.Name(), what, c.Name())
		}
		return nil
	}
}

// atMost refuses more than n arguments, which what names.
func atMost(n int, what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) > n {
			return console.Usagef("%s takes %s, not %q: see calotte %s --help", c.Name(), what, args[n], c.Name())
		}
		return nil
	}
}

// required demands a flag and says what it is for.
func required(c *cobra.Command, flag, example string) error {
	if !c.Flags().Changed(flag) {
		return console.Usagef("--%s is missing: for example %s", flag, example)
	}
	return nil
}

// optional leaves a zero default out of the help and of the provenance: not
// having said a limit is not a limit of zero.
func optional(flags *pflag.FlagSet, names ...string) {
	for _, n := range names {
		flags.Lookup(n).DefValue = ""
	}
}

// files starts the outputs of a run with the given inputs.
func (a *app) files(inputs []string) *disk.Files {
	out := &disk.Files{Force: a.force, Inputs: inputs, Within: a.within, Who: a.who(), Waits: func(text string) {
		fmt.Fprintln(a.stderr, text)
	}}
	a.outputs = append(a.outputs, out)
	return out
}

// who is this run, for others that have to wait for it.
func (a *app) who() string {
	for _, arg := range a.args {
		if !strings.HasPrefix(arg, "-") {
			return "calotte " + arg
		}
	}
	return "calotte"
}

// summary is where the text for people goes: standard output, or standard error
// when a table takes standard output.
func (a *app) summary(tableOnStdout bool) io.Writer {
	switch {
	case a.quiet:
		return io.Discard
	case tableOnStdout:
		return a.stderr
	}
	return a.stdout
}

// notes is where remarks about the data go.
func (a *app) notes() io.Writer {
	if a.quiet {
		return io.Discard
	}
	return a.stderr
}

// warn prints remarks that the user should act on, also when quiet.
func (a *app) warn(texts []string) {
	for _, text := range texts {
		fmt.Fprintf(a.stderr, "warning: %s\n", console.Line(text))
	}
}

// provenance describes this run. Flags that name files or places are left out:
// what was read is in the inputs, with its hash, and where an output went is
// nobody's business.
func (a *app) provenance(c *cobra.Command, sources []provenance.Source) provenance.Record {
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
			if f.Name == "equalise" && f.Changed || f.Name == "arrangements" { // what is drawn hangs on the seed
				settings["seed"] = c.Flag("seed").Value.String()
			}
		}
	})
	return provenance.Record{Program: "calotte", Version: version, MadeOn: madeOn(), Work: c.Name(), Settings: settings, Arguments: a.arguments(c), Inputs: sources}
}
