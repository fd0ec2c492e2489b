package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/layout"
	"calotte/topo/unit"
)

// electrodesFlags say how a file of measured positions is to be read.
type electrodesFlags struct {
	file      string
	axes      string
	unit      string
	tipOffset unit.Length
}

// register adds the flags; the file itself is a flag where it is not an argument.
func (e *electrodesFlags) register(c *cobra.Command, asFlag bool) {
	flags := c.Flags()
	if asFlag {
		flags.StringVar(&e.file, "electrodes", "", "`FILE` of measured positions, NAME_electrodes.tsv")
	}
	flags.StringVar(&e.axes, "axes", "", "`AXES` of the positions, such as RAS or ALS (default: as the sidecar says)")
	flags.StringVar(&e.unit, "unit", "", "`UNIT` of the positions, mm, cm or m (default: as the sidecar says)")
	flags.Var(&e.tipOffset, "tip-offset", "height of the electrodes, where their tops were digitised")
	optional(flags, "tip-offset")
}

// options checks the flags before any file is read.
func (e *electrodesFlags) options(head layout.Surface) (layout.DigitiseOptions, error) {
	o := layout.DigitiseOptions{Unit: e.unit, Head: head, TipOffset: float64(e.tipOffset)}
	if e.unit != "" && !slices.Contains([]string{"mm", "cm", "m"}, e.unit) {
		return o, console.Usagef("--unit %q: expected mm, cm or m", e.unit)
	}
	if e.tipOffset < 0 {
		return o, console.Usagef("--tip-offset %v: expected the electrode's height, such as 6mm", e.tipOffset)
	}
	if e.axes != "" {
		axes, err := layout.ParseAxes(e.axes)
		if err != nil {
			return o, console.Usagef("--axes: %w", err)
		}
		o.Axes = axes
	}
	return o, nil
}

// digitise reads the positions at path, with the sidecar beside them, into the
// coordinates of the head, and notes with it what was read.
func (e *electrodesFlags) digitise(a *app, path string, w *headModel) (*layout.Digitised, error) {
	var surface layout.Surface
	if !w.assumed {
		surface = w.surface
	}
	options, err := e.options(surface)
	if err != nil {
		return nil, err
	}
	points, coordinates, err := w.readPoints(path)
	if err != nil {
		return nil, err
	}
	d, err := layout.Digitise(points, coordinates, options)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	a.warn(d.Warnings)
	return &d, nil
}

// readPoints reads a file of electrodes, and the sidecar that says how.
func (w *headModel) readPoints(path string) (layout.Points, layout.Coordinates, error) {
	data, err := disk.ReadFile(path)
	if err != nil {
		return layout.Points{}, layout.Coordinates{}, err
	}
	points, err := layout.ReadElectrodes(bytes.NewReader(data))
	if err != nil {
		return layout.Points{}, layout.Coordinates{}, fmt.Errorf("%s: %w", path, err)
	}
	w.read(path, data)
	coordinates, err := w.readSidecar(path)
	return points, coordinates, err
}

// readSidecar finds NAME_coordsystem.json beside NAME_electrodes.tsv; without it
// the coordinates say nothing.
func (w *headModel) readSidecar(path string) (layout.Coordinates, error) {
	stem, standard := strings.CutSuffix(path, electrodesEnding)
	if !standard {
		return layout.Coordinates{}, nil
	}
	sidecar := stem + coordinatesEnding
	data, err := disk.ReadFile(sidecar)
	if errors.Is(err, os.ErrNotExist) {
		return layout.Coordinates{}, nil
	}
	if err != nil {
		return layout.Coordinates{}, err
	}
	c, err := layout.DecodeCoordinates(bytes.NewReader(data))
	if err != nil {
		return layout.Coordinates{}, fmt.Errorf("%s: %w", sidecar, err)
	}
	w.read(sidecar, data)
	return c, nil
}

// measure puts the measured positions in the place of the ideal ones.
func (w *headModel) measure(a *app, e *electrodesFlags) error {
	if e.file == "" {
		if e.axes != "" || e.unit != "" || e.tipOffset != 0 {
			return console.Usagef("--axes, --unit and --tip-offset say how to read --electrodes: give that file too")
		}
		return nil
	}
	d, err := e.digitise(a, e.file, w)
	if err != nil {
		return err
	}
	w.measured, w.radius = d, d.Radius
	return nil
}

// targets are sites to read a field at: where they were measured, else where the
// rules put them.
func (w *headModel) targets(columns []string) ([]layout.Site, error) {
	if w.measured == nil {
		return w.sites(columns)
	}
	ideal := *w
	ideal.measured = nil
	out := make([]layout.Site, 0, len(columns))
	for _, c := range columns {
		from := &ideal
		if slices.ContainsFunc(w.measured.Sites, func(s layout.Site) bool { return sameSite(s.Name, c) }) {
			from = w
		}
		site, err := from.sites([]string{c})
		if err != nil {
			return nil, err
		}
		out = append(out, site...)
	}
	return out, nil
}

// measuredSites looks columns up among the measured positions, by the text of
// their names or by the site that it stands for.
func (w *headModel) measuredSites(columns []string) ([]layout.Site, error) {
	out := make([]layout.Site, len(columns))
	for i, c := range columns {
		j := slices.IndexFunc(w.measured.Sites, func(s layout.Site) bool { return sameSite(s.Name, c) })
		switch {
		case slices.Contains(w.measured.Without, c):
			return nil, fmt.Errorf("column %q: the electrodes file has n/a for its position", c)
		case j < 0:
			return nil, fmt.Errorf("column %q: the electrodes file has no such name", c)
		}
		out[i] = layout.Site{Name: c, Position: w.measured.Sites[j].Position}
	}
	return out, nil
}

// sameSite compares names by their text, or by the site that they stand for.
func sameSite(a, b string) bool {
	if a == b {
		return true
	}
	m, err := layout.Parse(a)
	if err != nil {
		return false
	}
	n, err := layout.Parse(b)
	return err == nil && m == n
}
