package main

import (
	"bytes"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/layout"
	"calotte/topo/provenance"
	"calotte/topo/unit"
)

// headFlags say whose head it is: a file that place or guide wrote, tape
// measures, a scan, or nothing.
type headFlags struct {
	file                               string
	circumference, nasionInion, earEar unit.Length
	leftRing, rightRing                unit.Length
	leftEar, rightEar                  unit.Length
	widest                             unit.Length
	scan, landmarks, scanUnit          string
}

// tapeFlags are the names of the tape measures; each is a flag.
var tapeFlags = []string{"circumference", "nasion-inion", "ear-ear", "left-ring", "right-ring", "left-ear", "right-ear", "widest"}

func (h *headFlags) register(c *cobra.Command) {
	flags := c.Flags()
	flags.StringVar(&h.file, "head", "", "head `FILE`, as calotte place and guide write it")
	flags.Var(&h.circumference, "circumference", "tape around the head through Fpz, T7, Oz and T8")
	flags.Var(&h.nasionInion, "nasion-inion", "tape from nasion over the vertex to inion")
	flags.Var(&h.earEar, "ear-ear", "tape from ear to ear over the vertex")
	flags.Var(&h.leftRing, "left-ring", "the left half of the ring, Fpz to Oz, measured apart")
	flags.Var(&h.rightRing, "right-ring", "the right half of the ring")
	flags.Var(&h.leftEar, "left-ear", "the left ear to the vertex, measured apart")
	flags.Var(&h.rightEar, "right-ear", "the right ear to the vertex")
	flags.Var(&h.widest, "widest", "tape around the head where it is widest, for the cap's size only")
	flags.StringVar(&h.scan, "scan", "", "`FILE` with the scanned head, .ply, .obj or .stl; needs --landmarks")
	flags.StringVar(&h.landmarks, "landmarks", "", "`FILE` with NAS, INI, LPA and RPA of the scan: name, x, y, z")
	flags.StringVar(&h.scanUnit, "scan-unit", "", "`UNIT` of the scan, mm, cm or m (default: found from its size)")
	optional(flags, tapeFlags...)
}

// A headModel is a head and where its measures come from.
type headModel struct {
	layout.Visit
	head    layout.Head
	surface layout.Surface // where sites are placed
	model   layout.Ellipsoid
	radius  float64 // of the sphere of the spline, mm
	sources []provenance.Source
	paths   []string // the files behind them, never to be written to
	assumed bool     // nobody measured
	scanned bool
	// measured holds digitised positions; nil where they are the ideal ones.
	measured *layout.Digitised
}

// read finds the head and says aloud what is remarkable about it, also that it
// is assumed.
func (h *headFlags) read(a *app, c *cobra.Command) (*headModel, error) {
	w, err := h.model(a, c)
	if err != nil {
		return nil, err
	}
	if w.assumed && !c.Flags().Changed("electrodes") {
		console.Say(a.notes(), "note: no head measures: a sphere of %.0f mm circumference is assumed (--head, or --circumference --nasion-inion --ear-ear)\n", w.head.Circumference)
	}
	return w, nil
}

// wearer follows the one of the three ways to a head that the flags take.
func (h *headFlags) model(a *app, c *cobra.Command) (*headModel, error) {
	taped := false
	for _, name := range tapeFlags {
		taped = taped || c.Flags().Changed(name)
	}
	ways := 0
	for _, given := range []bool{h.file != "", taped, h.scan != "" || h.landmarks != ""} {
		if given {
			ways++
		}
	}
	switch {
	case ways > 1:
		return nil, console.Usagef("the head is given in two ways: keep one of --head, tape measures and --scan")
	case h.file != "":
		return h.fromFile(a)
	case h.scan != "" || h.landmarks != "":
		return h.fromScan(a)
	case taped:
		head := layout.Head{
			Circumference: float64(h.circumference), NasionInion: float64(h.nasionInion), EarEar: float64(h.earEar),
			Halves: layout.Halves{
				LeftRing: float64(h.leftRing), RightRing: float64(h.rightRing),
				LeftEar: float64(h.leftEar), RightEar: float64(h.rightEar),
			},
		}
		visit := head.Visit()
		visit.Widest = float64(h.widest)
		w, err := fromVisit(a, visit)
		if err != nil {
			return nil, &console.UsageError{Err: err}
		}
		return w, nil
	}
	w, err := fromVisit(a, layout.DefaultHead().Visit())
	if err == nil {
		w.assumed = true
	}
	return w, err
}

func (h *headFlags) fromFile(a *app) (*headModel, error) {
	data, err := disk.ReadFile(h.file)
	if err != nil {
		return nil, err
	}
	visit, err := layout.DecodeVisit(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", h.file, err)
	}
	w, err := fromVisit(a, visit)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", h.file, err)
	}
	w.read(h.file, data)
	return w, nil
}

// fromVisit models the head that a tape measured.
func fromVisit(a *app, v layout.Visit) (*headModel, error) {
	warnings, err := v.Check()
	if err != nil {
		return nil, err
	}
	w := &headModel{Visit: v, head: v.Head()}
	if w.surface, err = w.head.Surface(); err != nil {
		return nil, err
	}
	if w.model, err = w.head.Model(); err != nil {
		return nil, err
	}
	w.radius = w.head.Radius()
	a.warn(warnings)
	return w, nil
}

func (h *headFlags) fromScan(a *app) (*headModel, error) {
	if h.scan == "" || h.landmarks == "" {
		return nil, console.Usagef("--scan and --landmarks go together: the scan, and its NAS, INI, LPA and RPA")
	}
	if !strings.Contains(" mm cm m ", " "+h.scanUnit+" ") && h.scanUnit != "" {
		return nil, console.Usagef("--scan-unit %q: expected mm, cm or m", h.scanUnit)
	}
	scan, err := disk.ReadFile(h.scan)
	if err != nil {
		return nil, err
	}
	points, err := disk.ReadFile(h.landmarks)
	if err != nil {
		return nil, err
	}
	mesh, err := layout.ReadMesh(bytes.NewReader(scan), layout.AnyMesh)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", h.scan, err)
	}
	landmarks, err := layout.ReadLandmarks(bytes.NewReader(points))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", h.landmarks, err)
	}
	surface, err := layout.NewScan(mesh, landmarks, h.scanUnit)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", h.scan, err)
	}
	head := surface.Measures()
	w := &headModel{Visit: head.Visit(), head: head, surface: surface, radius: head.Radius(), scanned: true}
	if w.model, err = head.Model(); err != nil {
		return nil, fmt.Errorf("%s: %w", h.scan, err)
	}
	w.read(h.scan, scan)
	w.read(h.landmarks, points)
	if h.scanUnit == "" {
		console.Say(a.notes(), "note: %s is taken to be in %s, by its size (--scan-unit says otherwise)\n", filepath.Base(h.scan), surface.Unit())
	}
	a.warn(surface.Warnings())
	return w, nil
}

// read notes a file that the positions rest on.
func (w *headModel) read(path string, data []byte) {
	w.sources = append(w.sources, source(path, data))
	w.paths = append(w.paths, path)
}

// source is a file and its hash.
func source(path string, data []byte) provenance.Source {
	return provenance.SourceOf(filepath.Base(path), data)
}

// describe says in a few words what the positions rest on.
func (w *headModel) describe() string {
	h := w.head
	switch {
	case w.measured != nil:
		return fmt.Sprintf("digitised, on a sphere of %.0f mm radius", w.radius)
	case w.assumed:
		return fmt.Sprintf("a sphere of %.0f mm, assumed", h.Circumference)
	case w.scanned:
		return fmt.Sprintf("a scan that measures %.0f, %.0f and %.0f mm", h.Circumference, h.NasionInion, h.EarEar)
	case h.Spherical():
		return fmt.Sprintf("a sphere of %.0f mm", h.Circumference)
	}
	return fmt.Sprintf("an ellipsoid of %.0f, %.0f and %.0f mm", h.Circumference, h.NasionInion, h.EarEar)
}

// sites places the columns of a table on the head, under the names that they
// have there: where they were measured, else where the rules put them.
func (w *headModel) sites(columns []string) ([]layout.Site, error) {
	if w.measured != nil {
		return w.measuredSites(columns)
	}
	return layout.SitesOn(w.surface, columns)
}
