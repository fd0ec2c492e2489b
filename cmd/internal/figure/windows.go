package figure

import (
	"bytes"
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/disk"
	"calotte/topo/measure"
	"calotte/topo/provenance"
	"calotte/topo/unit"
)

// Windows is a file of windows that were declared beforehand.
type Windows struct {
	Path     string
	Declared []measure.Window
	source   provenance.Source
}

// Register adds the flag; what is what the windows are for.
func (w *Windows) Register(c *cobra.Command, what string) {
	c.Flags().StringVar(&w.Path, "windows", "",
		"`FILE` of declared windows (columns name, window), "+what+"; its SHA-256 goes into the output")
}

// Read loads the file, if one is given.
func (w *Windows) Read() error {
	if w.Path == "" {
		return nil
	}
	text, err := disk.ReadFile(w.Path)
	if err != nil {
		return err
	}
	if w.Declared, err = measure.ReadWindows(bytes.NewReader(text)); err != nil {
		return fmt.Errorf("%s: %w", w.Path, err)
	}
	w.source = archive.Source(w.Path, text)
	return nil
}

// Paths and Sources are the file, where there is one.
func (w *Windows) Paths() []string {
	if w.Path == "" {
		return nil
	}
	return []string{w.Path}
}

// Sources and Paths are the file, where there is one.
func (w *Windows) Sources() []provenance.Source {
	if w.Path == "" {
		return nil
	}
	return []provenance.Source{w.source}
}

// Remark says who chose the windows or latencies.
func (w *Windows) Remark(what string) string {
	if w.Path == "" {
		return what + " chosen by the author."
	}
	return fmt.Sprintf("Windows declared in %s (SHA-256 %s…).", filepath.Base(w.Path), w.source.SHA256[:12])
}

// Label is a latency as people read it, with the name of a window that was
// declared.
func (w *Windows) Label(at unit.Latency) string {
	for _, d := range w.Declared {
		if d.Span == at.Span {
			return d.Name + ", " + at.Label()
		}
	}
	return at.Label()
}

// Latencies are the declared windows, whose means are taken.
func (w *Windows) Latencies() unit.Latencies {
	var list unit.Latencies
	for _, d := range w.Declared {
		list = append(list, unit.Latency{Span: d.Span})
	}
	return list
}
