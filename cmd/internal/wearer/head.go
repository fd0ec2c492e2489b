package wearer

import (
	"bytes"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/session"
	"calotte/layout"
	"calotte/layout/digitised"
	"calotte/layout/head"
	"calotte/layout/scan"
	"calotte/topo/provenance"
	"calotte/topo/unit"
)

// Flags say whose head it is: a file that place or guide wrote, tape
// measures, a scan, or nothing.
type Flags struct {
	File                               string
	circumference, nasionInion, earEar unit.Length
	leftRing, rightRing                unit.Length
	leftEar, rightEar                  unit.Length
	widest                             unit.Length
	Scan, Landmarks, scanUnit          string
}

// TapeFlags are the names of the tape measures; each is a flag.
var TapeFlags = []string{"circumference", "nasion-inion", "ear-ear", "left-ring", "right-ring", "left-ear", "right-ear",
	"widest"}

// Register adds the flags.
func (h *Flags) Register(c *cobra.Command) {
	flags := c.Flags()
	flags.StringVar(&h.File, "head", "", "head `FILE`, as calotte place and guide write it")
	flags.Var(&h.circumference, "circumference", "tape around the head through Fpz, T7, Oz and T8")
	flags.Var(&h.nasionInion, "nasion-inion", "tape from nasion over the vertex to inion")
	flags.Var(&h.earEar, "ear-ear", "tape from ear to ear over the vertex")
	flags.Var(&h.leftRing, "left-ring", "the left half of the ring, Fpz to Oz, measured apart")
	flags.Var(&h.rightRing, "right-ring", "the right half of the ring")
	flags.Var(&h.leftEar, "left-ear", "the left ear to the vertex, measured apart")
	flags.Var(&h.rightEar, "right-ear", "the right ear to the vertex")
	flags.Var(&h.widest, "widest", "tape around the head where it is widest, for the cap's size only")
	flags.StringVar(&h.Scan, "scan", "", "`FILE` with the scanned head, .ply, .obj or .stl; needs --landmarks")
	flags.StringVar(&h.Landmarks, "landmarks", "", "`FILE` with NAS, INI, LPA and RPA of the scan: name, x, y, z")
	flags.StringVar(&h.scanUnit, "scan-unit", "", "`UNIT` of the scan, mm, cm or m (default: found from its size)")
	session.Optional(flags, TapeFlags...)
}

// A Head is a head and where its measures come from.
type Head struct {
	head.Visit
	Head    head.Head
	Surface layout.Surface // where sites are placed
	Model   head.Ellipsoid
	Radius  float64 // of the sphere of the spline, mm
	Sources []provenance.Source
	Paths   []string // the files behind them, never to be written to
	Assumed bool     // nobody measured
	Scanned bool
	// Measured holds digitised positions; nil where they are the ideal
	// ones.
	Measured *digitised.Layout
}

// Read finds the head and says aloud what is remarkable about it, also that it
// is assumed.
func (h *Flags) Read(a *session.Session, c *cobra.Command) (*Head, error) {
	w, err := h.model(a, c)
	if err != nil {
		return nil, err
	}
	if w.Assumed && !c.Flags().Changed("electrodes") {
		console.Say(a.Notes(), "note: no head measures: a sphere of %.0f mm circumference is assumed "+
			"(--head, or "+
			"--circumference --nasion-inion --ear-ear)\n", w.Head.Circumference)
	}
	return w, nil
}

// wearer follows the one of the three ways to a head that the flags take.
func (h *Flags) model(a *session.Session, c *cobra.Command) (*Head, error) {
	taped := false
	for _, name := range TapeFlags {
		taped = taped || c.Flags().Changed(name)
	}
	ways := 0
	for _, given := range []bool{h.File != "", taped, h.Scan != "" || h.Landmarks != ""} {
		if given {
			ways++
		}
	}
	switch {
	case ways > 1:
		return nil, console.Usagef("the head is given in two ways: keep one of --head, tape measures and --scan")
	case h.File != "":
		return h.FromFile(a)
	case h.Scan != "" || h.Landmarks != "":
		return h.fromScan(a)
	case taped:
		measures := head.Head{
			Circumference: float64(h.circumference), NasionInion: float64(h.nasionInion),
			EarEar: float64(h.earEar),
			Halves: head.Halves{
				LeftRing: float64(h.leftRing), RightRing: float64(h.rightRing),
				LeftEar: float64(h.leftEar), RightEar: float64(h.rightEar),
			},
		}
		visit := measures.Visit()
		visit.Widest = float64(h.widest)
		w, err := FromVisit(a, visit)
		if err != nil {
			return nil, &console.UsageError{Err: err}
		}
		return w, nil
	}
	w, err := FromVisit(a, head.Default().Visit())
	if err == nil {
		w.Assumed = true
	}
	return w, err
}

// FromFile reads the head that place or guide wrote.
func (h *Flags) FromFile(a *session.Session) (*Head, error) {
	data, err := disk.ReadFile(h.File)
	if err != nil {
		return nil, err
	}
	visit, err := head.DecodeVisit(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", h.File, err)
	}
	w, err := FromVisit(a, visit)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", h.File, err)
	}
	w.Read(h.File, data)
	return w, nil
}

// FromVisit models the head that a tape measured.
func FromVisit(a *session.Session, v head.Visit) (*Head, error) {
	warnings, err := v.Check()
	if err != nil {
		return nil, err
	}
	w := &Head{Visit: v, Head: v.Head()}
	if w.Surface, err = w.Head.Surface(); err != nil {
		return nil, err
	}
	if w.Model, err = w.Head.Model(); err != nil {
		return nil, err
	}
	w.Radius = w.Head.Radius()
	a.Warn(warnings)
	return w, nil
}

func (h *Flags) fromScan(a *session.Session) (*Head, error) {
	if h.Scan == "" || h.Landmarks == "" {
		return nil, console.Usagef("--scan and --landmarks go together: the scan, and its NAS, INI, LPA and RPA")
	}
	if !strings.Contains(" mm cm m ", " "+h.scanUnit+" ") && h.scanUnit != "" {
		return nil, console.Usagef("--scan-unit %q: expected mm, cm or m", h.scanUnit)
	}
	scanned, err := disk.ReadFile(h.Scan)
	if err != nil {
		return nil, err
	}
	points, err := disk.ReadFile(h.Landmarks)
	if err != nil {
		return nil, err
	}
	mesh, err := scan.ReadMesh(bytes.NewReader(scanned), scan.AnyMesh)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", h.Scan, err)
	}
	landmarks, err := scan.ReadLandmarks(bytes.NewReader(points))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", h.Landmarks, err)
	}
	surface, err := scan.New(mesh, landmarks, h.scanUnit)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", h.Scan, err)
	}
	head := surface.Measures()
	w := &Head{Visit: head.Visit(), Head: head, Surface: surface, Radius: head.Radius(), Scanned: true}
	if w.Model, err = head.Model(); err != nil {
		return nil, fmt.Errorf("%s: %w", h.Scan, err)
	}
	w.Read(h.Scan, scanned)
	w.Read(h.Landmarks, points)
	if h.scanUnit == "" {
		console.Say(a.Notes(), "note: %s is taken to be in %s, by its size (--scan-unit says otherwise)\n",
			filepath.Base(h.Scan), surface.Unit())
	}
	a.Warn(surface.Warnings())
	return w, nil
}

// Read notes a file that the positions rest on.
func (w *Head) Read(path string, data []byte) {
	w.Sources = append(w.Sources, archive.Source(path, data))
	w.Paths = append(w.Paths, path)
}

// Describe says in a few words what the positions rest on.
func (w *Head) Describe() string {
	h := w.Head
	switch {
	case w.Measured != nil:
		return fmt.Sprintf("digitised, on a sphere of %.0f mm radius", w.Radius)
	case w.Assumed:
		return fmt.Sprintf("a sphere of %.0f mm, assumed", h.Circumference)
	case w.Scanned:
		return fmt.Sprintf("a scan that measures %.0f, %.0f and %.0f mm", h.Circumference, h.NasionInion,
			h.EarEar)
	case h.Spherical():
		return fmt.Sprintf("a sphere of %.0f mm", h.Circumference)
	}
	return fmt.Sprintf("an ellipsoid of %.0f, %.0f and %.0f mm", h.Circumference, h.NasionInion, h.EarEar)
}

// Sites places the columns of a table on the head, under the names that they
// have there: where they were measured, else where the rules put them.
func (w *Head) Sites(columns []string) ([]layout.Site, error) {
	if w.Measured != nil {
		return w.measuredSites(columns)
	}
	return layout.SitesOn(w.Surface, columns)
}

// HeadGiven names a flag by which a head was given, empty where none was.
func HeadGiven(c *cobra.Command) string {
	for _, name := range append([]string{"head", "scan", "landmarks", "scan-unit"}, TapeFlags...) {
		if c.Flags().Changed(name) {
			return name
		}
	}
	return ""
}
