package main

import (
	"bytes"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/intake"
	"calotte/topo/erp"
	"calotte/topo/erp/unmix"
	"calotte/topo/provenance"
)

// readRemoval reads a table of decisions and the weights beside it.
func (w *cleaning) readRemoval(a *app, path string) error {
	if !strings.HasSuffix(path, decisionsEnding) {
		return console.Usagef("--unmix %s: expected a table that calotte unmix wrote, whose name ends in %s",
			path,
			decisionsEnding)
	}
	beside := strings.TrimSuffix(path, decisionsEnding) + weightsEnding
	if a.Places != nil {
		for _, name := range []string{path, beside} {
			if err := a.Places.Within(name); err != nil {
				return err
			}
		}
	}
	table, err := disk.ReadFile(path)
	if err != nil {
		return err
	}
	weights, err := disk.ReadFile(beside)
	if err != nil {
		return fmt.Errorf("the weights that belong to %s: %w", path, err)
	}
	file, err := unmix.ReadFile(weights)
	if err != nil {
		return fmt.Errorf("%s: %w", beside, err)
	}
	decisions, err := unmix.ReadDecisions(bytes.NewReader(table), file)
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	w.add(path, table)
	w.add(beside, weights)
	w.pipeline.Unmix = &erp.Removal{File: file, Decisions: decisions}
	return nil
}

// fromOthers refuses recordings that the components were not found in, by name.
func (w *cleaning) fromOthers(recordings []*intake.Recording) error {
	if w.pipeline.Unmix == nil {
		return nil
	}
	var known []string
	for _, source := range w.pipeline.Unmix.File.Provenance.Inputs {
		known = append(known, source.Name)
	}
	for _, r := range recordings {
		if !slices.Contains(known, filepath.Base(r.Path)) {
			return fmt.Errorf("%s: the components of --unmix are of other recordings (%s): unmix this one",
				r.Path, strings.Join(known, ", "))
		}
	}
	return nil
}

// changedSince refuses recordings that are not, to the byte, those that the
// components were found in.
func (w *cleaning) changedSince(p intake.Person, sources []provenance.Source) error {
	if w.pipeline.Unmix == nil {
		return nil
	}
	for _, r := range p.Recordings {
		name := filepath.Base(r.Path)
		for _, now := range sources {
			then := slices.ContainsFunc(w.pipeline.Unmix.File.Provenance.Inputs,
				func(s provenance.Source) bool { return s == now })
			if now.Name == name && !then {
				return fmt.Errorf("%s is not the file that the components of --unmix were found "+
					"in: its bytes "+
					"differ: unmix it again", r.Path)
			}
		}
	}
	return nil
}
