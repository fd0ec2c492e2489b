package fields

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/console"
	"calotte/render/scalp"
	"calotte/topo"
	"calotte/topo/unit"
)

// A Doubt is a flag that says within how many errors of zero a map is stippled:
// 2sem, 2interpolation or 2error.
type Doubt struct{ Boundary scalp.Boundary }

// boundaries are the errors that a doubt may be told in, as --field names them.
var boundaries = []struct {
	name string
	of   scalp.Showing
}{
	{"sem", scalp.StandardErrors}, {"interpolation", scalp.InterpolationErrors}, {"error", scalp.AllErrors},
}

func (d *Doubt) Set(text string) error {
	for _, b := range boundaries {
		number, ok := strings.CutSuffix(text, b.name)
		if !ok {
			continue
		}
		v, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
		if err != nil || !(v > 0 && v <= 100) {
			break
		}
		d.Boundary = scalp.Boundary{Errors: v, Of: b.of}
		return nil
	}
	return fmt.Errorf("%q: expected how many errors, and which: 2sem, 2interpolation or 2error", text)
}

func (d Doubt) String() string {
	for _, b := range boundaries {
		if d.Boundary.Errors > 0 && b.of == d.Boundary.Of {
			return strconv.FormatFloat(d.Boundary.Errors, 'g', -1, 64) + b.name
		}
	}
	return ""
}

func (Doubt) Type() string { return "errors" }

// ofSampling reports whether the people or epochs behind an average are needed.
func (d Doubt) ofSampling() bool {
	return d.Boundary.Errors > 0 && d.Boundary.Of != scalp.InterpolationErrors
}

// Territory is how far beyond what the electrodes know maps are drawn.
type Territory struct {
	Overhang    unit.Length
	Extrapolate bool
}

// NewTerritory is what holds where the flags are not given.
func NewTerritory() Territory { return Territory{Overhang: topo.Overhang} }

// Register adds the flags.
func (t *Territory) Register(c *cobra.Command) {
	c.Flags().Var(&t.Overhang, "overhang", "how far outside of the electrodes maps may go")
	c.Flags().BoolVar(&t.Extrapolate, "extrapolate", false,
		"draw the whole head, hatched where the electrodes know nothing")
}

// Check finds what is wrong with the flags before any file is read.
func (t *Territory) Check() error {
	if t.Overhang <= 0 || t.Overhang > 200 {
		return console.Usagef("--overhang %v: expected more than 0 and at most 200mm, such as 15mm", t.Overhang)
	}
	return nil
}
