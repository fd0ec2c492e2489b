package fields

import (
	"slices"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/figure"
	"calotte/cmd/internal/session"
	"calotte/topo/unit"
)

// When is the latencies at which fields are wanted, and the windows that were
// declared beforehand.
type When struct {
	At      unit.Latencies
	Windows figure.Windows
}

// Register adds the flags; what is what the windows are for.
func (w *When) Register(c *cobra.Command, what string) {
	c.Flags().Var(&w.At, "at", "latencies 100ms,170ms or windows 150..190ms, whose mean is taken")
	w.Windows.Register(c, what)
}

// Check finds what is missing before any file is read.
func (w *When) Check(c *cobra.Command) error {
	if w.Windows.Path != "" {
		return nil
	}
	return session.Required(c, "at", "--at 100ms,170ms")
}

// Read adds the declared windows to the latencies, as if they had been given
// with --at: the provenance says at which latencies a result is.
func (w *When) Read(c *cobra.Command) error {
	if err := w.Windows.Read(); err != nil {
		return err
	}
	for _, declared := range w.Windows.Latencies() {
		if slices.Contains(w.At, declared) {
			continue
		}
		if err := c.Flags().Set("at", declared.String()); err != nil {
			return err
		}
	}
	return nil
}
