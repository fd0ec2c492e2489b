package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/layout"
	"calotte/topo/erp"
	"calotte/topo/unit"
)

// headFlags say whose head it is: a file that place wrote, tape measures, or
// nothing.
type headFlags struct {
	file                               string
	circumference, nasionInion, earEar unit.Length
}

func (h *headFlags) register(c *cobra.Command) {
	flags := c.Flags()
	flags.StringVar(&h.file, "head", "", "head `FILE`, as calotte place writes it")
	flags.Var(&h.circumference, "circumference", "tape around the head through Fpz, T7, Oz and T8")
	flags.Var(&h.nasionInion, "nasion-inion", "tape from nasion over the vertex to inion")
	flags.Var(&h.earEar, "ear-ear", "tape from ear to ear over the vertex")
	optional(flags, "circumference", "nasion-inion", "ear-ear")
}

// A wearer is a head and where its measures come from.
type wearer struct {
	layout.Head
	model   layout.Ellipsoid
	source  *erp.Source // the head file
	assumed bool        // nobody measured
}

// measured reports whether the flags name any head.
func (h *headFlags) measured(c *cobra.Command) bool {
	for _, name := range []string{"head", "circumference", "nasion-inion", "ear-ear"} {
		if c.Flags().Changed(name) {
			return true
		}
	}
	return false
}

// read finds the head and says aloud what is remarkable about it, also that it
// is assumed.
func (h *headFlags) read(a *app, c *cobra.Command) (*wearer, error) {
	w, err := h.wearer(c)
	if err != nil {
		return nil, err
	}
	warnings, err := w.Check()
	if err == nil {
		w.model, err = w.Model()
	}
	if err != nil {
		if w.source != nil {
			return nil, fmt.Errorf("%s: %w", h.file, err)
		}
		return nil, &console.UsageError{Err: err}
	}
	if w.assumed {
		fmt.Fprintf(a.notes(), "note: no head measures: a sphere of %.0f mm circumference is assumed (--head, or --circumference --nasion-inion --ear-ear)\n", w.Circumference)
	}
	for _, text := range warnings {
		fmt.Fprintf(a.notes(), "warning: %s\n", text)
	}
	return w, nil
}

func (h *headFlags) wearer(c *cobra.Command) (*wearer, error) {
	tape := layout.Head{
		Circumference: float64(h.circumference), NasionInion: float64(h.nasionInion), EarEar: float64(h.earEar),
	}
	switch {
	case !h.measured(c):
		return &wearer{Head: layout.DefaultHead(), assumed: true}, nil
	case h.file == "":
		return &wearer{Head: tape}, nil
	case tape != layout.Head{}:
		return nil, console.Usagef("--head and tape measures are both given: keep one of them")
	}
	data, err := os.ReadFile(h.file)
	if err != nil {
		return nil, err
	}
	head, err := layout.DecodeHead(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", h.file, err)
	}
	return &wearer{Head: head, source: &erp.Source{Name: filepath.Base(h.file), SHA256: archive.Hash(data)}}, nil
}

// describe says in a few words what the positions rest on.
func (w *wearer) describe() string {
	switch {
	case w.assumed:
		return fmt.Sprintf("a sphere of %.0f mm, assumed", w.Circumference)
	case w.Spherical():
		return fmt.Sprintf("a sphere of %.0f mm", w.Circumference)
	}
	return fmt.Sprintf("an ellipsoid of %.0f, %.0f and %.0f mm", w.Circumference, w.NasionInion, w.EarEar)
}

// sites places the columns of a table on the head, under the names that they
// have there.
func (w *wearer) sites(columns []string) ([]layout.Site, error) {
	names := make([]layout.Name, len(columns))
	for i, c := range columns {
		n, err := layout.Parse(c)
		if err != nil {
			return nil, fmt.Errorf("column %q: %w", c, err)
		}
		names[i] = n
	}
	placed, err := layout.Place(w.model, names)
	if err != nil {
		return nil, err
	}
	sites := layout.Sites(placed)
	for i := range sites {
		sites[i].Name = columns[i]
	}
	return sites, nil
}

// sources is what else was read, beside the averages.
func (w *wearer) sources() []erp.Source {
	if w.source == nil {
		return nil
	}
	return []erp.Source{*w.source}
}
