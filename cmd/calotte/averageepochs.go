package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/topo/erp"
	"calotte/topo/unit"
)

// isEpochs reports whether a file is taken for an array of epochs.
func isEpochs(path string) bool { return strings.EqualFold(filepath.Ext(path), ".npy") }

// bareFlags say of an array of epochs what it does not say itself.
type bareFlags struct {
	sites siteList
	rate  unit.Frequency
	first unit.Time
}

func (f *bareFlags) register(c *cobra.Command) {
	flags := c.Flags()
	flags.Var(&f.sites, "sites", "of epochs made elsewhere: SITE[,SITE], or a file with a name a line, in the array's order")
	flags.Var(&f.rate, "rate", "of epochs made elsewhere: the sampling rate, such as 500Hz")
	flags.Var(&f.first, "first", "of epochs made elsewhere: the time of the first sample, such as -200ms")
	optional(flags, "rate", "first")
}

// runAverageEpochs averages epochs that were cut before. The sets of one name are one
// person's.
func (a *app) runAverageEpochs(c *cobra.Command, f averageFlags, paths []string) error {
	if i := slices.IndexFunc(paths, func(p string) bool { return !isEpochs(p) }); i >= 0 {
		return console.Usagef("%s is a recording and others are epochs: average the one or the other", paths[i])
	}
	if err := console.Distinct(paths); err != nil {
		return err
	}
	if !c.Flags().Changed("baseline") {
		f.baseline.span = nil // saved epochs have theirs
	}
	work, err := f.pipeline(a, c)
	if err != nil {
		return err
	}
	work.pipeline.Conditions = nil
	var sets []archive.Saved
	defer func() {
		for _, s := range sets {
			s.Close()
		}
	}()
	for _, path := range paths {
		s, err := f.bare.open(c, path)
		if err != nil {
			return err
		}
		sets = append(sets, s)
		work.paths, work.sources = append(work.paths, s.Paths...), append(work.sources, s.Sources...)
	}
	name := f.name
	for _, s := range sets {
		if name == "" {
			name = s.Name
		}
		if f.name == "" && s.Name != name {
			return console.Usagef("the epochs are of %s and of %s: average each alone, or say by --name that they are one person's", name, s.Name)
		}
	}
	out := a.files(work.paths)
	var planned []string
	for _, s := range sets {
		planned = append(planned, archive.Paths(f.output, archive.Stem(name, s.Set.Condition))...)
	}
	if err := out.Plan(planned...); err != nil {
		return err
	}
	run := averaging{app: a, command: c, flags: f, cleaning: work, out: out}
	var epochSets []erp.EpochSet
	for _, s := range sets {
		epochSets = append(epochSets, s.Set)
		work.pipeline.Conditions = append(work.pipeline.Conditions, erp.Condition{Name: s.Set.Condition})
	}
	keep, err := run.keep(name)
	if err != nil {
		return err
	}
	defer keep.Discard()
	result, err := work.pipeline.RunEpochs(c.Context(), epochSets...)
	if err != nil {
		return fmt.Errorf("%s: %w", strings.Join(paths, ", "), err)
	}
	averages, err := result.Averages(work.pipeline, name)
	if err != nil {
		return fmt.Errorf("%s: %w", strings.Join(paths, ", "), err)
	}
	tables, err := run.save(averages, result, keep, work.sources)
	if err != nil {
		return err
	}
	run.say(notesOn(averages, result))
	reportPerson(a.summary(false), name, averages, result, tables)
	return nil
}

// open opens an array with the files beside it, or with what the flags say of it.
func (f *bareFlags) open(c *cobra.Command, path string) (archive.Saved, error) {
	s, err := archive.OpenEpochs(path)
	if err != nil {
		return s, err
	}
	if s.Described {
		if given := given(c.Flags(), "sites", "rate", "first"); given != nil {
			s.Close()
			return s, console.Usagef("--%s: the files beside %s say it already: leave it out", given[0], path)
		}
		return s, nil
	}
	for _, flag := range []string{"sites", "rate", "first"} {
		if !c.Flags().Changed(flag) {
			s.Close()
			return s, console.Usagef("%s says nothing of itself, and there is no _average.json beside it: give --sites, --rate and --first", path)
		}
	}
	if n := s.Shape.Sites; n != len(f.sites) {
		s.Close()
		return s, fmt.Errorf("%s holds %v (epoch × site × sample) and --sites names %d: name each of the %d", path, s.Shape, len(f.sites), n)
	}
	first := unit.Span{From: f.first, To: f.first + unit.Time(float64(s.Shape.Samples-1)/float64(f.rate))}
	s.Set.Sites = f.sites
	if s.Set.Window, err = erp.NewWindow(first, float64(f.rate)); err == nil && s.Set.Window.Len() != s.Shape.Samples {
		err = fmt.Errorf("at %v no sample lies at %v: give the time of the first sample to the microsecond", f.rate, f.first)
	}
	if err != nil {
		s.Close()
		return s, fmt.Errorf("%s: %w", path, err)
	}
	return s, nil
}

// siteList is a flag that takes names joined by commas, or a file with a name a line.
type siteList []string

func (l *siteList) Set(text string) error {
	parts := strings.Split(text, ",")
	if info, err := os.Stat(text); err == nil && info.Mode().IsRegular() {
		b, err := console.ReadFile(text)
		if err != nil {
			return err
		}
		parts = strings.Split(string(bytes.TrimSpace(b)), "\n")
	}
	var list []string
	for _, p := range parts {
		p = strings.TrimSpace(p)
		if p == "" || strings.ContainsAny(p, "\t\r") {
			return fmt.Errorf("%q: expected names, none of them empty", text)
		}
		if slices.Contains(list, p) {
			return fmt.Errorf("%s is given twice", p)
		}
		list = append(list, p)
	}
	*l = list
	return nil
}

func (l siteList) String() string { return strings.Join(l, ",") }
func (l siteList) Type() string   { return "sites" }
