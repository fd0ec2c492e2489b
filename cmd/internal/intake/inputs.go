package intake

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/places"
	"calotte/topo/erp"
	"calotte/topo/recording/bids"
)

// Flags say which recordings are read, and where their events come from.
type Flags struct {
	participant, session, task, run []string
	events                          string
	label                           string
	codes                           Codes
	Onsets                          Onsets
	truncated                       bool
	Array                           ArrayFlags
	Plain                           bool        // Open was given a folder that is no BIDS folder
	Places                          *places.Set // that all must lie in; nil: it may lie anywhere
}

// Register adds the flags.
func (f *Flags) Register(c *cobra.Command) {
	flags := c.Flags()
	flags.StringSliceVar(&f.participant, "participant", nil,
		"of a BIDS folder: the recordings of this participant, `LABEL` such as 01")
	flags.StringSliceVar(&f.session, "session", nil, "of a BIDS folder: those of this session, by `LABEL`")
	flags.StringSliceVar(&f.task, "task", nil, "of a BIDS folder: those of this task, by `LABEL`")
	flags.StringSliceVar(&f.run, "run", nil, "of a BIDS folder: this run, by `LABEL`")
	flags.StringVar(&f.events, "events", "",
		"table (`FILE`.tsv or .csv) with a column onset, in place of the recording's events")
	flags.StringVar(&f.label, "event-label", "",
		"`COLUMN` of that table that names the events (default: trial_type, else value)")
	flags.Var(&f.codes, "codes",
		"take the events from a trigger channel: CHANNEL, or CHANNEL&MASK for some of its bits")
	flags.Var(&f.Onsets, "onsets",
		"add events where a channel crosses a level: 'CHANNEL>2mV' rising, '<' falling, 'CHANNEL>2mV/300ms' "+
			"once in 300 ms")
	flags.BoolVar(&f.truncated, "allow-truncated", false, "use the whole records of a recording that breaks off")
	for _, name := range []string{"participant", "session", "task", "run"} {
		flags.Lookup(name).DefValue = ""
	}
	f.Array.register(c)
}

// Chooses reports whether a flag chooses from a folder.
func (f *Flags) Chooses() bool {
	return len(f.participant)+len(f.session)+len(f.task)+len(f.run) > 0
}

// Open opens the recordings that the arguments name: files, or BIDS folders.
func (f *Flags) Open(args []string) (open []*Recording, closeAll func(), err error) {
	closeAll = func() {
		for _, r := range open {
			r.Close()
		}
	}
	paths, err := f.paths(args)
	if err == nil {
		err = disk.Distinct(paths)
	}
	if err == nil && f.events != "" && len(paths) > 1 {
		err = console.Usagef("--events is the table of one recording, and %d are given: put the tables "+
			"into a BIDS "+
			"folder, or average one by one", len(paths))
	}
	if err == nil && f.label != "" && f.events == "" {
		err = console.Usagef("--event-label names a column of the table given by --events: give that, too")
	}
	if err != nil {
		return nil, closeAll, err
	}
	for _, path := range paths {
		r, err := f.openFile(path)
		if err != nil {
			return open, closeAll, err
		}
		open = append(open, r)
		if err := f.describe(r); err != nil {
			return open, closeAll, err
		}
	}
	return open, closeAll, nil
}

// paths replaces folders by the chosen recordings in them.
func (f *Flags) paths(args []string) ([]string, error) {
	choice := bids.Choice{Subjects: f.participant, Sessions: f.session, Tasks: f.task, Runs: f.run}
	var paths []string
	folders := 0
	for _, arg := range args {
		if info, err := os.Stat(arg); err != nil || !info.IsDir() {
			paths = append(paths, arg)
			continue
		}
		plain, err := bids.Plain(f.Places.Folder(arg))
		if err != nil {
			return nil, fmt.Errorf("%s: %w", arg, err)
		}
		if plain != nil {
			f.Plain = true
			for _, name := range plain {
				paths = append(paths, filepath.Join(arg, name))
			}
			continue
		}
		folders++
		set, err := bids.Open(f.Places.Folder(arg))
		if err != nil {
			return nil, fmt.Errorf("%s: %w", arg, err)
		}
		files, err := set.Choose(choice)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", arg, err)
		}
		for _, file := range files {
			paths = append(paths, filepath.Join(arg, filepath.FromSlash(file.Path)))
		}
	}
	if f.Chooses() && folders == 0 {
		return nil, console.Usagef("--participant, --session, --task and --run choose from a BIDS " +
			"folder: give the " +
			"folder in place of recordings")
	}
	return paths, nil
}

// describe lays over a recording what is said of it elsewhere: in the sidecars
// of its data set, in a table of events, in its own trigger channels.
func (f *Flags) describe(r *Recording) error {
	d := &bids.Description{}
	if root, in, ok := bids.Root(filepath.ToSlash(r.Path)); ok {
		var err error
		if d, err = bids.Describe(f.Places.Folder(filepath.FromSlash(root)), in); err != nil {
			return fmt.Errorf("%s: %w", filepath.FromSlash(root), err)
		}
		r.beside(root, d.Sidecars.Events, d.Sidecars.Channels)
		r.beside(root, d.Sidecars.EEG...)
	} else if f.events == "" && len(r.Events) == 0 {
		if err := f.eventsBeside(r, d); err != nil {
			return err
		}
	}
	if f.events != "" {
		b, err := disk.ReadFile(f.events)
		if err != nil {
			return err
		}
		if err := f.readEvents(d, f.events, b); err != nil {
			return err
		}
		r.Sidecars = append(r.Sidecars, f.events)
	}
	described := d.Apply(r.Recording)
	r.Recording, r.Bad, r.others, r.Mains = described.Recording, described.Bad(), described.Others(),
		described.EEG.Mains
	if err := f.codes.apply(r.Recording); err != nil {
		return fmt.Errorf("%s: --codes: %w", r.Path, err)
	}
	if err := f.Onsets.apply(r.Recording); err != nil {
		return fmt.Errorf("%s: --onsets: %w", r.Path, err)
	}
	return nil
}

// eventsBeside puts the table of events that lies beside a recording without
// any, as an array is, into a description.
func (f *Flags) eventsBeside(r *Recording, d *bids.Description) error {
	table := bids.EventsBeside(r.Path)
	b, err := fs.ReadFile(f.Places.Folder(filepath.Dir(table)), filepath.Base(table))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	r.Sidecars = append(r.Sidecars, table)
	return f.readEvents(d, table, b)
}

// readEvents puts a table of events into a description.
func (f *Flags) readEvents(d *bids.Description, name string, table []byte) (err error) {
	if d.Events, err = bids.ReadEvents(bytes.NewReader(table), f.label); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
}

// beside notes sidecars, by their path in a data set.
func (r *Recording) beside(root string, names ...string) {
	for _, name := range names {
		if name != "" {
			r.Sidecars = append(r.Sidecars,
				filepath.Join(filepath.FromSlash(root), filepath.FromSlash(name)))
		}
	}
}

// Given lists which of some flags the command line holds.
func Given(flags *pflag.FlagSet, names ...string) []string {
	var out []string
	for _, n := range names {
		if flags.Changed(n) {
			out = append(out, n)
		}
	}
	return out
}

// Input is the recording for the pipeline.
func (r *Recording) Input() erp.Input {
	return erp.Input{Recording: r.Recording, Name: filepath.Base(r.Path), Bad: r.Bad, Others: r.others}
}
