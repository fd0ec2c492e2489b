package main

import (
	"context"
	"io"
	"runtime"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/session"
)

// An app is a session whose methods are the verbs.
type app struct{ *session.Session }

// run carries out one command line.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) error {
	return (&app{&session.Session{Stdin: stdin, Stdout: stdout, Stderr: stderr}}).run(ctx, args)
}

// run carries out one command line as it was typed.
func (a *app) run(ctx context.Context, args []string) error {
	return a.runExactly(ctx, disk.Expand(args))
}

// runExactly carries out one command line without patterns, and leaves nothing
// half written.
func (a *app) runExactly(ctx context.Context, args []string) error {
	a.Args = args
	a.Stdout, a.Stderr = console.Plain(a.Stdout), console.Plain(a.Stderr)
	root := a.root()
	root.SetArgs(args)
	root.SetOut(a.Stdout)
	root.SetErr(a.Stderr)
	defer func() {
		for _, out := range a.Outputs {
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
		Version:       session.Version,
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
			if a.Jobs < 0 {
				return console.Usagef("--jobs %d: expected a number of processors, or 0 for all",
					a.Jobs)
			}
			if a.Jobs > 0 {
				runtime.GOMAXPROCS(a.Jobs)
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
	global.BoolVarP(&a.Quiet, "quiet", "q", false, "no progress, no summary, no notes; warnings stay")
	global.BoolVar(&a.Force, "force", false, "replace existing outputs")
	global.IntVar(&a.Jobs, "jobs", 0, "`N` processors to use; 0: all. Results do not depend on it")
	global.Uint64Var(&a.Seed, "seed", 1, "`SEED` of everything random")

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
		"data":   {a.unmix(), a.average(), a.combine()},
		"look":   {a.maps(), a.values(), a.traces(), a.frames(), a.explore()},
		"decide": {a.components(), a.asymmetry(), a.compare(), a.alternatives(), a.rehearse()},
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
				return console.Usagef("no command %q to explain: see calotte --help",
					strings.Join(args, " "))
			}
			return c.Help()
		},
	}
}
