package fields

import (
	"context"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/session"
)

// What is the quantity that is wanted of fields.
type What struct {
	Quantity option.Quantity
	Fade     float64 // of maps: the |t| below which they pale
}

// NewWhat is what holds where the flags are not given.
func NewWhat() What { return What{Quantity: option.Potential} }

// Register adds the flag.
func (w *What) Register(c *cobra.Command) {
	c.Flags().Var(&w.Quantity, "field",
		"potential, csd (current density, from the surface Laplacian); from saved epochs or the "+
			"participants: t (the "+
			"mean over its standard error), sem (that error), agreement (how many have the sign "+
			"of the mean)")
}

// Check finds what the folders of people and the spline's order do not fit.
func (w *What) Check(a *session.Session, folders []string, order int) error {
	if len(folders) > 0 && !w.wantsUnits() {
		return console.Usagef("--in is for errors, which need the people behind an average: leave it out, or " +
			"add --field t")
	}
	if w.Quantity == option.CurrentDensity && order == 3 {
		a.Warn([]string{"the current density of order 3 has a cusp at every electrode: use " +
			"--spline-order 4 or more"})
	}
	return nil
}

// wantsUnits reports whether the people or epochs behind the averages are
// needed.
func (w *What) wantsUnits() bool { return w.Fade > 0 || w.Quantity.NeedsUnits() }

// Ask turns from potentials to what is wanted, and finds what it needs.
func (f *Fields) Ask(ctx context.Context, what What) error {
	f.What = what
	if !what.wantsUnits() {
		return nil
	}
	return f.findUnits(ctx)
}
