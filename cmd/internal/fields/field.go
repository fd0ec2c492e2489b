package fields

import (
	"fmt"
	"slices"

	"github.com/spf13/cobra"
	"gonum.org/v1/gonum/mat"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/figure"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/session"
	"calotte/cmd/internal/wearer"
	"calotte/topo"
	"calotte/topo/erp/average"
	"calotte/topo/provenance"
	"calotte/topo/unit"
)

// Flags are what every picture or number of a field needs: which quantity,
// when, on which head, by which spline.
type Flags struct {
	At          unit.Latencies
	Quantity    option.Quantity
	Folders     []string
	Order       int
	Smoothing   smoothing
	head        wearer.Flags
	positions   wearer.Electrodes
	Clock       averages.Clock
	Rereference averages.Rereference

	Windows figure.Windows
	Fade    float64 // of maps: the |t| below which they pale
}

// NewFlags are flags with what holds where they are not given.
func NewFlags() Flags { return Flags{Order: 4, Quantity: option.Potential} }

// Register adds the flags.
func (f *Flags) Register(c *cobra.Command) {
	flags := c.Flags()
	flags.Var(&f.At, "at", "latencies 100ms,170ms or windows 150..190ms, whose mean is taken")
	flags.Var(&f.Quantity, "field",
		"potential, csd (current density, from the surface Laplacian); from saved epochs or the participants: t (the "+
			"mean over its standard error), sem (that error), agreement (how many have the sign of the mean)")
	flags.StringArrayVar(&f.Folders, "in", nil,
		"`FOLDER` to look for a grand average's participants in, which errors need; repeat for more")
	f.RegisterSpline(c, "gcv finds the one that predicts left-out sites best")
}

// RegisterSpline adds the flags of how and on which head averages are
// interpolated; more is what the smoothing may be beside a number, empty:
// nothing.
func (f *Flags) RegisterSpline(c *cobra.Command, more string) {
	usage := "LAMBDA of the spline: 0 passes through the data"
	if more != "" {
		usage += ", " + more
	}
	c.Flags().IntVar(&f.Order, "spline-order", f.Order, "`ORDER` of the spherical spline, 3 to 6")
	c.Flags().Var(&f.Smoothing, "spline-smoothing", usage)
	f.head.Register(c)
	f.positions.Register(c, true)
	f.Rereference.Register(c)
	f.Clock.Register(c)
}

// Fields is what the flags led to.
type Fields struct {
	*Flags
	*averages.Tables
	Head    *wearer.Head
	splines []cachedSpline
	units   [][]*average.Average // with t: the epochs or people behind each average
}

type cachedSpline struct {
	columns []string
	spline  *topo.Spline
}

// wantsUnits reports whether the people or epochs behind the averages are
// needed.
func (f *Flags) wantsUnits() bool { return f.Fade > 0 || f.Quantity.NeedsUnits() }

// check finds what is wrong with the flags before any file is read.
func (f *Flags) check(a *session.Session, c *cobra.Command) error {
	if f.Windows.Path == "" {
		if err := session.Required(c, "at", "--at 100ms,170ms"); err != nil {
			return err
		}
	}
	if len(f.Folders) > 0 && !f.wantsUnits() {
		return console.Usagef("--in is for errors, which need the people behind an average: leave it out, or " +
			"add --field t")
	}
	if err := archive.CheckFolders(f.Folders); err != nil {
		return err
	}
	if f.Order < 3 || f.Order > 6 {
		return console.Usagef("--spline-order %d: expected 3 to 6", f.Order)
	}
	if f.Quantity == option.CurrentDensity && f.Order == 3 {
		a.Warn([]string{"the current density of order 3 has a cusp at every electrode: use --spline-order 4 or more"})
	}
	return nil
}

// Read loads the averages and the head.
func (f *Flags) Read(a *session.Session, c *cobra.Command, paths []string) (*Fields, error) {
	if err := f.check(a, c); err != nil {
		return nil, err
	}
	if err := f.Windows.Read(); err != nil {
		return nil, err
	}
	for _, declared := range f.Windows.Latencies() {
		if !slices.Contains(f.At, declared) {
			f.At = append(f.At, declared)
			c.Flags().Lookup("at").Changed = true // it holds latencies now, which the provenance keeps
		}
	}
	tables, err := f.Clock.Load(c, paths)
	if err != nil {
		return nil, err
	}
	return f.From(a, c, tables)
}

// From is Read for averages that are loaded.
func (f *Flags) From(a *session.Session, c *cobra.Command, tables *averages.Tables) (*Fields, error) {
	if err := f.Rereference.Apply(a, c, tables); err != nil {
		return nil, err
	}
	tables.DifferencesLast()
	head, err := f.head.Read(a, c)
	if err != nil {
		return nil, err
	}
	if err := head.Measure(a, &f.positions); err != nil {
		return nil, err
	}
	out := &Fields{Flags: f, Tables: tables, Head: head}
	if err := out.oneReference(); err != nil {
		return nil, err
	}
	if f.wantsUnits() {
		if err := out.findUnits(c.Context()); err != nil {
			return nil, err
		}
	}
	if f.Smoothing.Find {
		if err := out.findSmoothing(a); err != nil {
			return nil, err
		}
	}
	for i, avg := range tables.Averages {
		if err := c.Context().Err(); err != nil {
			return nil, err
		}
		if _, _, err := out.Spline(avg); err != nil {
			return nil, fmt.Errorf("%s: %w", out.Paths[i], err)
		}
	}
	return out, nil
}

// oneReference refuses averages against different references. One that nobody
// told may be the same.
func (f *Fields) oneReference() error {
	first := f.firstReferenced()
	for i, avg := range f.Averages {
		if r, other := f.Averages[first].Info.Reference, avg.Info.Reference; other != "" && other != r {
			return fmt.Errorf("%s and %s have different references, %q and %q: bring them to one before you "+
				"compare them",
				f.Paths[first], f.Paths[i], r, other)
		}
	}
	return nil
}

// firstReferenced is the first average whose reference is known, or the first.
func (f *Fields) firstReferenced() int {
	known := func(a *average.Average) bool { return a.Info.Reference != "" }
	return max(0, slices.IndexFunc(f.Averages, known))
}

// Reference is that of all averages in which it is known.
func (f *Fields) Reference() string { return f.Averages[f.firstReferenced()].Info.Reference }

// Inputs are the files that must not be written to.
func (f *Fields) Inputs() []string { return slices.Concat(f.Files, f.Head.Paths, f.Windows.Paths()) }

// Sources are what a figure or table of the fields was made from.
func (f *Fields) Sources() []provenance.Source {
	return slices.Concat(averages.Sources(f.Averages), f.Head.Sources, f.Windows.Sources())
}

// Spline returns the spline through the average's sites, shared by all averages
// of the same columns, and their amplitudes, site × latency.
func (f *Fields) Spline(avg *average.Average) (*topo.Spline, *mat.Dense, error) {
	amplitudes, err := f.amplitudes(avg)
	if err != nil {
		return nil, nil, err
	}
	for _, s := range f.splines {
		if slices.Equal(s.columns, avg.Sites) {
			return s.spline, amplitudes, nil
		}
	}
	sites, err := f.Head.Sites(avg.Sites)
	if err != nil {
		return nil, nil, fmt.Errorf("%w: remove or rename the column", err)
	}
	options := topo.Options{Order: f.Order, Smoothing: f.Smoothing.lambda, Radius: f.Head.Radius}
	spline, err := topo.New(sites, options)
	if err != nil {
		return nil, nil, err
	}
	f.splines = append(f.splines, cachedSpline{avg.Sites, spline})
	return spline, amplitudes, nil
}

func (f *Fields) amplitudes(avg *average.Average) (*mat.Dense, error) {
	amplitudes := mat.NewDense(len(avg.Sites), len(f.At), nil)
	for j, at := range f.At {
		values, err := avg.At(at)
		if err != nil {
			return nil, err
		}
		amplitudes.SetCol(j, values)
	}
	return amplitudes, nil
}
