package fields

import (
	"context"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/session"
	"calotte/render/scalp"
)

// What is the quantity that is wanted of fields.
type What struct {
	Quantity option.Quantity
	Doubt    Doubt // of maps: where they are stippled
	Placed   bool  // how the caps of the people behind averages sat is asked for
}

// NewWhat is what holds where the flags are not given.
func NewWhat() What { return What{Quantity: option.Potential} }

// Register adds the flag.
func (w *What) Register(c *cobra.Command) {
	c.Flags().Var(&w.Quantity, "field",
		"potential, csd (current density, from the surface Laplacian), interpolation (how far the "+
			"field between the electrodes may be off); from saved epochs or the participants: t (the "+
			"mean over its standard error), sem (that error), error (both errors together), agreement "+
			"(how many have the sign of the mean)")
}

// Check finds what the folders of people and the spline's order do not fit.
func (w *What) Check(a *session.Session, folders []string, order int) error {
	if len(folders) > 0 && !w.wantsUnits() && !w.Placed {
		return console.Usagef("--in is for errors, which need the people behind an average: leave it out, or " +
			"add --field t")
	}
	if w.Quantity == option.CurrentDensity && order == 3 {
		a.Warn([]string{"the current density of order 3 has a cusp at every electrode: use " +
			"--spline-order 4 or more"})
	}
	return nil
}

// CheckDoubt finds what a boundary of errors does not fit.
func (w *What) CheckDoubt() error {
	switch b := w.Doubt.Boundary; {
	case b.Errors == 0:
		return nil
	case w.Quantity != option.Potential && w.Quantity != option.CurrentDensity:
		return console.Usagef("--doubt is for potential and csd, which have errors of their own: leave it out "+
			"with --field %v", w.Quantity)
	case w.Quantity == option.CurrentDensity && b.Of != scalp.StandardErrors:
		return console.Usagef("--doubt %v: the error of the interpolation is that of the potential, and a "+
			"current density has none: give --doubt %gsem", w.Doubt, b.Errors)
	}
	return nil
}

// wantsUnits reports whether the people or epochs behind the averages are
// needed.
func (w *What) wantsUnits() bool { return w.Doubt.ofSampling() || w.Quantity.NeedsUnits() }

// Ask turns from potentials to what is wanted, and finds what it needs.
func (f *Fields) Ask(ctx context.Context, what What) error {
	f.What = what
	if !what.wantsUnits() {
		return nil
	}
	return f.findUnits(ctx)
}
