package main

import (
	"bytes"
	"fmt"
	"maps"
	"os"
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

// isEpochs reports whether a file is taken for an array of epochs.
func isEpochs(path string) bool { return strings.EqualFold(filepath.Ext(path), ".npy") }

// bareFlagNames are those of bareFlags.
var bareFlagNames = []string{"sites", "rate", "first"}

// bareFlags say of an array of epochs what it does not say itself.
type bareFlags struct {
	sites siteList
	rate  unit.Frequency
	first unit.Time
}

func (f *bareFlags) register(c *cobra.Command) {
	flags := c.Flags()
	flags.Var(&f.sites, "sites",
		"of epochs made elsewhere: SITE[,SITE], or a file with a name a line, in the array's order")
	flags.Var(&f.rate, "rate", "of epochs made elsewhere: the sampling rate, such as 500Hz")
	flags.Var(&f.first, "first", "of epochs made elsewhere: the time of the first sample, such as -200ms")
	session.Optional(flags, "rate", "first")
}

// epochFlags are those that mean something for epochs that were cut before.
var epochFlags = append([]string{
	"sites", "rate", "first", "name", "output", "save-epochs",
	"baseline", "reference", "repair", "reject", "reject-step", "step-over", "exclude", "minimum", "same-number",
	"sme",
	"mains",
	"head", "scan", "landmarks", "scan-unit",
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
	if given := intake.Given(c.Flags(), bareFlagNames...); given != nil {
		return console.Usagef("--%s is for epochs made elsewhere, in a file that ends in .npy: leave it out",
			given[0])
	}
	return nil
}

// runAverageEpochs averages epochs that were cut before. They are one person's.
func (a *app) runAverageEpochs(c *cobra.Command, f averageFlags, paths []string) error {
	if i := slices.IndexFunc(paths, func(p string) bool { return !isEpochs(p) }); i >= 0 {
		return console.Usagef("%s is a recording and others are epochs: average the one or the other", paths[i])
	}
	if err := checkEpochFlags(c); err != nil {
		return err
	}
	if c.Flags().Changed("rate") && f.bare.rate <= 0 {
		return console.Usagef("--rate %v: expected more than 0, such as 500Hz", f.bare.rate)
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
	saved, closeAll, err := f.bare.openAll(c, paths)
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
func (f *bareFlags) openAll(c *cobra.Command, paths []string) (all []archive.Saved, closeAll func(), err error) {
	closeAll = func() {
		for _, s := range all {
			s.Close()
		}
	}
	for _, path := range paths {
		s, err := f.open(c, path)
		if err != nil {
			return all, closeAll, err
		}
		all = append(all, s)
	}
	return all, closeAll, nil
}

// open opens an array with the files beside it, or with what the flags say of
// it.
func (f *bareFlags) open(c *cobra.Command, path string) (archive.Saved, error) {
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
	for _, flag := range bareFlagNames {
		if !c.Flags().Changed(flag) {
			s.Close()
			return s, console.Usagef("%s says nothing of itself, and there is no _average.json "+
				"beside it: give "+
				"--sites, --rate and --first", path)
		}
	}
	if n := s.Shape.Sites; n != len(f.sites) {
		s.Close()
		return s, fmt.Errorf("%s holds %v (epoch × site × sample) and --sites names %d: name each of the %d",
			path,
			s.Shape, len(f.sites), n)
	}
	first := unit.Span{From: f.first, To: f.first + unit.Time(float64(s.Shape.Samples-1)/float64(f.rate))}
	s.Set.Sites = f.sites
	if s.Set.Window, err = epoch.NewWindow(first,
		float64(f.rate)); err == nil && s.Set.Window.Len() != s.Shape.Samples {
		err = fmt.Errorf("at %v no sample lies at %v: give the time of the first sample to the microsecond",
			f.rate,
			f.first)
	}
	if err != nil {
		s.Close()
		return s, fmt.Errorf("%s: %w", path, err)
	}
	return s, nil
}

// siteList is a flag that takes names joined by commas, or a file with a name a
// line.
type siteList []string

func (l *siteList) Set(text string) error {
	parts := strings.Split(text, ",")
	if l.IsFile(text) {
		b, err := disk.ReadFile(text)
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

// IsFile reports whether the text is the name of a file.
func (siteList) IsFile(text string) bool {
	info, err := os.Stat(text)
	return err == nil && info.Mode().IsRegular()
}

func (l siteList) String() string { return strings.Join(l, ",") }
func (l siteList) Type() string   { return "sites" }
