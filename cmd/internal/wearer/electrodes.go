package wearer

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
	"calotte/cmd/internal/session"
	"calotte/layout"
	"calotte/layout/digitised"
	"calotte/topo/unit"
)

// Electrodes say how a file of measured positions is to be read.
type Electrodes struct {
	File      string
	Axes      string
	Unit      string
	TipOffset unit.Length
	// LandmarkError is of each coordinate; zero means the usual one.
	LandmarkError unit.Length
}

// Register adds the flags; the file itself is a flag where it is not an
// argument.
func (e *Electrodes) Register(c *cobra.Command, asFlag bool) {
	flags := c.Flags()
	if asFlag {
		flags.StringVar(&e.File, "electrodes", "", "`FILE` of measured positions, NAME_electrodes.tsv")
	}
	flags.StringVar(&e.Axes, "axes", "",
		"`AXES` of the positions, such as RAS or ALS (default: as the sidecar says)")
	flags.StringVar(&e.Unit, "unit", "", "`UNIT` of the positions, mm, cm or m (default: as the sidecar says)")
	flags.Var(&e.TipOffset, "tip-offset", "height of the electrodes, where their tops were digitised")
	session.Optional(flags, "tip-offset")
}

// Options checks the flags before any file is read.
func (e *Electrodes) Options(head layout.Surface) (digitised.Options, error) {
	o := digitised.Options{Unit: e.Unit, Head: head, TipOffset: float64(e.TipOffset),
		LandmarkError: float64(e.LandmarkError)}
	if e.Unit != "" && !slices.Contains([]string{"mm", "cm", "m"}, e.Unit) {
		return o, console.Usagef("--unit %q: expected mm, cm or m", e.Unit)
	}
	if e.TipOffset < 0 {
		return o, console.Usagef("--tip-offset %v: expected the electrode's height, such as 6mm", e.TipOffset)
	}
	if e.Axes != "" {
		axes, err := digitised.ParseAxes(e.Axes)
		if err != nil {
			return o, console.Usagef("--axes: %w", err)
		}
		o.Axes = axes
	}
	return o, nil
}

// Digitise reads the positions at path, with the sidecar beside them, into the
// coordinates of the head, and notes with it what was read.
func (e *Electrodes) Digitise(a *session.Session, path string, w *Head) (*digitised.Layout, error) {
	var surface layout.Surface
	if !w.Assumed {
		surface = w.Surface
	}
	options, err := e.Options(surface)
	if err != nil {
		return nil, err
	}
	points, coordinates, err := w.ReadPoints(path)
	if err != nil {
		return nil, err
	}
	d, err := digitised.Digitise(points, coordinates, options)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	a.Warn(d.Warnings)
	return &d, nil
}

// ReadPoints reads a file of electrodes, and the sidecar that says how.
func (w *Head) ReadPoints(path string) (digitised.Points, digitised.Coordinates, error) {
	data, err := disk.ReadFile(path)
	if err != nil {
		return digitised.Points{}, digitised.Coordinates{}, err
	}
	points, err := digitised.ReadElectrodes(bytes.NewReader(data))
	if err != nil {
		return digitised.Points{}, digitised.Coordinates{}, fmt.Errorf("%s: %w", path, err)
	}
	w.Read(path, data)
	coordinates, err := w.readSidecar(path)
	return points, coordinates, err
}

// readSidecar finds NAME_coordsystem.json beside NAME_electrodes.tsv; without
// it the coordinates say nothing.
func (w *Head) readSidecar(path string) (digitised.Coordinates, error) {
	stem, standard := strings.CutSuffix(path, ElectrodesEnding)
	if !standard {
		return digitised.Coordinates{}, nil
	}
	sidecar := stem + CoordinatesEnding
	data, err := disk.ReadFile(sidecar)
	if errors.Is(err, os.ErrNotExist) {
		return digitised.Coordinates{}, nil
	}
	if err != nil {
		return digitised.Coordinates{}, err
	}
	c, err := digitised.DecodeCoordinates(bytes.NewReader(data))
	if err != nil {
		return digitised.Coordinates{}, fmt.Errorf("%s: %w", sidecar, err)
	}
	w.Read(sidecar, data)
	return c, nil
}

// Measure puts the measured positions in the place of the ideal ones.
func (w *Head) Measure(a *session.Session, e *Electrodes) error {
	if e.File == "" {
		if e.Axes != "" || e.Unit != "" || e.TipOffset != 0 {
			return console.Usagef("--axes, --unit and --tip-offset say how to read --electrodes: give " +
				"that file too")
		}
		return nil
	}
	d, err := e.Digitise(a, e.File, w)
	if err != nil {
		return err
	}
	w.Measured, w.Radius = d, d.Radius
	return nil
}

// Targets are sites to read a field at: where they were measured, else where
// the rules put them.
func (w *Head) Targets(columns []string) ([]layout.Site, error) {
	if w.Measured == nil {
		return w.Sites(columns)
	}
	ideal := *w
	ideal.Measured = nil
	out := make([]layout.Site, 0, len(columns))
	for _, c := range columns {
		from := &ideal
		if slices.ContainsFunc(w.Measured.Sites, func(s layout.Site) bool { return sameSite(s.Name, c) }) {
			from = w
		}
		site, err := from.Sites([]string{c})
		if err != nil {
			return nil, err
		}
		out = append(out, site...)
	}
	return out, nil
}

// measuredSites looks columns up among the measured positions, by the text of
// their names or by the site that it stands for.
func (w *Head) measuredSites(columns []string) ([]layout.Site, error) {
	out := make([]layout.Site, len(columns))
	for i, c := range columns {
		j := slices.IndexFunc(w.Measured.Sites, func(s layout.Site) bool { return sameSite(s.Name, c) })
		switch {
		case slices.Contains(w.Measured.Without, c):
			return nil, fmt.Errorf("column %q: the electrodes file has n/a for its position", c)
		case j < 0:
			return nil, fmt.Errorf("column %q: the electrodes file has no such name", c)
		}
		out[i] = layout.Site{Name: c, Position: w.Measured.Sites[j].Position}
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
