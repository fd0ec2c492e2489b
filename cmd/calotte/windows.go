package main

import (
	"bytes"
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/disk"
	"calotte/topo/measure"
	"calotte/topo/provenance"
	"calotte/topo/unit"
)

// windowsFlag is a file of windows that were declared beforehand.
type windowsFlag struct {
	path     string
	declared []measure.Window
	source   provenance.Source
}

func (w *windowsFlag) register(c *cobra.Command, what string) {
	c.Flags().StringVar(&w.path, "windows", "", "`FILE` of declared windows (columns name, window), "+what+"; its SHA-256 goes into the output")
}

// read loads the file, if one is given.
func (w *windowsFlag) read() error {
	if w.path == "" {
		return nil
	}
	text, err := disk.ReadFile(w.path)
	if err != nil {
		return err
	}
	if w.declared, err = measure.ReadWindows(bytes.NewReader(text)); err != nil {
		return fmt.Errorf("%s: %w", w.path, err)
	}
	w.source = source(w.path, text)
	return nil
}

// paths and sources are the file, where there is one.
func (w *windowsFlag) paths() []string {
	if w.path == "" {
		return nil
	}
	return []string{w.path}
}

func (w *windowsFlag) sources() []provenance.Source {
	if w.path == "" {
		return nil
	}
	return []provenance.Source{w.source}
}

// remark says who chose the windows or latencies.
func (w *windowsFlag) remark(what string) string {
	if w.path == "" {
		return what + " chosen by the author."
	}
	return fmt.Sprintf("Windows declared in %s (SHA-256 %s…).", filepath.Base(w.path), w.source.SHA256[:12])
}

// label is a latency as people read it, with the name of a window that was declared.
func (w *windowsFlag) label(at unit.Latency) string {
	for _, d := range w.declared {
		if d.Span == at.Span {
			return d.Name + ", " + at.Label()
		}
	}
	return at.Label()
}

// latencies are the declared windows, whose means are taken.
func (w *windowsFlag) latencies() unit.Latencies {
	var list unit.Latencies
	for _, d := range w.declared {
		list = append(list, unit.Latency{Span: d.Span})
	}
	return list
}
