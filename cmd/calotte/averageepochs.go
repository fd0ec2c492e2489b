package main

import (
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/intake"
	"calotte/cmd/internal/session"
	"calotte/cmd/internal/wearer"
	"calotte/topo/erp"
	"calotte/topo/erp/epoch"
	"calotte/topo/provenance"
	"calotte/topo/unit"
)

// isNumPy reports whether a file is taken for a NumPy array.
func isNumPy(path string) bool { return strings.EqualFold(filepath.Ext(path), ".npy") }

// isEpochs reports whether a file is taken for an array of epochs: by its three
// axes, or since the time of the first sample is given.
func (f *averageFlags) isEpochs(c *cobra.Command, path string) bool {
	numpy := isNumPy(path)
	if !numpy && !strings.EqualFold(filepath.Ext(path), ".mat") {
		return false
	}
	axes, err := f.inputs.Array.Axes(path)
	if err != nil {
		return numpy
	}
	return axes != 2 || c.Flags().Changed("first")
}

// bareFlagNames say of an array of epochs what it does not say itself.
var bareFlagNames = []string{"sites", "rate", "first"}

// bareFlags are those of them that are not of recordings, too.
type bareFlags struct{ first unit.Time }

func (f *bareFlags) register(c *cobra.Command) {
	c.Flags().Var(&f.first, "first", "the time of the first sample, such as -200ms")
	session.Optional(c.Flags(), "first")
}

// epochFlags are those that mean something for epochs that were cut before.
var epochFlags = append([]string{
	"sites", "rate", "first", "unit", "order", "variable", "name", "output", "save-epochs", "centre",
	"baseline", "reference", "repair", "reject", "reject-step", "step-over", "exclude", "minimum", "same-number",
	"sme", "mains", "head", "scan", "landmarks", "scan-unit",
}, wearer.TapeFlags...)

// checkEpochFlags refuses flags for what belongs before the cutting.
func checkEpochFlags(c *cobra.Command) error {
	var err error
	own := c.LocalNonPersistentFlags()
	c.Flags().Visit(func(f *pflag.Flag) {
		if err == nil && own.Lookup(f.Name) != nil && !slices.Contains(epochFlags, f.Name) {
			err = console.Usagef("--%s is for recordings: these epochs were cut already, so leave it out "+
				"or average "+
				"the recording", f.Name)
		}
	})
	return err
}

// epochsProvenance is that of averages of epochs: the defaults of flags for
// recordings had no part in them.
func (a *app) epochsProvenance(c *cobra.Command, sources []provenance.Source) provenance.Record {
	p := a.Provenance(c, sources)
	maps.DeleteFunc(p.Settings, func(name, _ string) bool {
		return !c.Flags().Changed(name) || !slices.Contains(epochFlags, name)
	})
	return p
}

// checkBareFlags refuses flags for epochs where recordings are given.
func checkBareFlags(c *cobra.Command) error {
	if c.Flags().Changed("first") {
		return console.Usagef("--first is for epochs made elsewhere, in a file that ends in .npy or " +
			".mat: leave " +
			"it out")
	}
	return nil
}

// runAverageEpochs averages epochs that were cut before. They are one person's.
func (a *app) runAverageEpochs(c *cobra.Command, f averageFlags, paths []string) error {
	if i := slices.IndexFunc(paths, func(p string) bool { return !f.isEpochs(c, p) }); i >= 0 {
		return console.Usagef("%s is a recording and others are epochs: average the one or the other", paths[i])
	}
	if err := checkEpochFlags(c); err != nil {
		return err
	}
	if err := f.inputs.Array.Check(c.Flags()); err != nil {
		return err
	}
	if err := disk.Distinct(paths); err != nil {
		return err
	}
	if !c.Flags().Changed("baseline") {
		f.baseline.Span = nil // saved epochs have theirs
	}
	work, err := f.pipeline(a, c)
	if err != nil {
		return err
	}
	saved, closeAll, err := f.openAll(c, paths)
	defer closeAll()
	if err != nil {
		return err
	}
	name, err := f.nameOf(saved)
	if err != nil {
		return err
	}
	var planned []string
	var sets []erp.EpochSet
	work.pipeline.Conditions = nil
	for _, s := range saved {
		work.paths, work.sources = append(work.paths, s.Paths...), append(work.sources, s.Sources...)
		planned = append(planned, archive.Paths(f.output, archive.Stem(name, s.Set.Condition))...)
		sets = append(sets, s.Set)
		work.pipeline.Conditions = append(work.pipeline.Conditions, erp.Condition{Name: s.Set.Condition})
	}
	out := a.Files(work.paths)
	if err := out.Plan(planned...); err != nil {
		return err
	}
	a.Warn(work.unused(f.exclude, sourcesOf(sets)))
	run := averaging{app: a, command: c, flags: f, cleaning: work, out: out}
	keep, err := run.keep(name)
	if err != nil {
		return err
	}
	result, err := work.pipeline.RunEpochs(c.Context(), sets...)
	if err != nil {
		return fmt.Errorf("%s: %w", strings.Join(paths, ", "), err)
	}
	averages, err := result.Averages(name)
	if err != nil {
		return fmt.Errorf("%s: %w", strings.Join(paths, ", "), err)
	}
	tables, err := run.save(averages, result, keep, a.epochsProvenance(c, work.sources))
	if err != nil {
		return err
	}
	run.say(notesOn(averages, result))
	run.say(wholeEpochs(run.cleaning.pipeline, result))
	run.app.Warn(warningsOn(averages[0].Info.Name, averages, result, f.reject.Robust))
	reportPerson(a.Summary(false), name, averages, result, tables)
	return nil
}

// sourcesOf are the names of the recordings that epochs were cut from.
func sourcesOf(sets []erp.EpochSet) []string {
	var names []string
	for _, set := range sets {
		for _, row := range set.Rows {
			if !slices.Contains(names, row.Source) {
				names = append(names, row.Source)
			}
		}
	}
	return names
}

// nameOf is the name of the person whose epochs they are.
func (f *averageFlags) nameOf(saved []archive.Saved) (string, error) {
	if f.name != "" {
		return f.name, nil
	}
	for _, s := range saved[1:] {
		if s.Name != saved[0].Name {
			return "", console.Usagef("the epochs are of %s and of %s: average each alone, or say by "+
				"--name that "+
				"they are one person's", saved[0].Name, s.Name)
		}
	}
	return saved[0].Name, nil
}

// openAll opens arrays with the files beside them.
func (f *averageFlags) openAll(c *cobra.Command, paths []string) (all []archive.Saved, closeAll func(), err error) {
	closeAll = func() {
		for _, s := range all {
			s.Close()
		}
	}
	for _, path := range paths {
		s, err := f.openEpochs(c, path)
		if err != nil {
			return all, closeAll, err
		}
		all = append(all, s)
	}
	return all, closeAll, nil
}

// openEpochs opens an array with the files beside it, or with what the flags
// say of it.
func (f *averageFlags) openEpochs(c *cobra.Command, path string) (archive.Saved, error) {
	elsewhere := intake.Given(c.Flags(), "unit", "order", "variable") != nil ||
		strings.EqualFold(filepath.Ext(path), ".mat")
	if elsewhere {
		if err := f.unsaid(c, path); err != nil {
			return archive.Saved{}, err
		}
		s, err := f.inputs.Array.OpenCut(path)
		if err != nil {
			return s, err
		}
		return f.place(s, path)
	}
	s, err := archive.OpenEpochs(path)
	if err != nil {
		return s, err
	}
	if s.Described {
		if given := intake.Given(c.Flags(), bareFlagNames...); given != nil {
			s.Close()
			return s, console.Usagef("--%s: the files beside %s say it already: leave it out", given[0],
				path)
		}
		return s, nil
	}
	if err := f.unsaid(c, path); err != nil {
		s.Close()
		return s, err
	}
	sites := f.inputs.Array.Sites
	if n := s.Shape.Sites; n != len(sites) {
		s.Close()
		return s, fmt.Errorf("%s holds %v (epoch × site × sample) and --sites names %d: name each of "+
			"the %d, or "+
			"give --order", path, s.Shape, len(sites), n)
	}
	s.Set.Sites = sites
	return f.place(s, path)
}

// unsaid refuses epochs of which the flags leave out what the file does not
// say.
func (f *averageFlags) unsaid(c *cobra.Command, path string) error {
	for _, flag := range bareFlagNames {
		if !c.Flags().Changed(flag) {
			return console.Usagef("%s says nothing of itself, and there is no _average.json "+
				"beside it: give "+
				"--sites, --rate and --first", path)
		}
	}
	return nil
}

// place gives epochs their time window.
func (f *averageFlags) place(s archive.Saved, path string) (archive.Saved, error) {
	rate, first := f.inputs.Array.Rate, f.bare.first
	window := unit.Span{From: first, To: first + unit.Time(float64(s.Shape.Samples-1)/float64(rate))}
	var err error
	if s.Set.Window, err = epoch.NewWindow(window,
		float64(rate)); err == nil && s.Set.Window.Len() != s.Shape.Samples {
		err = fmt.Errorf("at %v no sample lies at %v: give the time of the first sample to the microsecond",
			rate,
			first)
	}
	if err != nil {
		s.Close()
		return s, fmt.Errorf("%s: %w", path, err)
	}
	return s, nil
}
