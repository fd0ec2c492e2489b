package main

import (
	"fmt"
	"slices"

	"github.com/spf13/cobra"
	"gonum.org/v1/gonum/mat"

	"calotte/cmd/internal/console"
	"calotte/topo"
	"calotte/topo/erp/average"
	"calotte/topo/provenance"
	"calotte/topo/unit"
)

// fieldFlags are what every picture or number of a field needs: which quantity,
// when, on which head, by which spline.
type fieldFlags struct {
	at          unit.Latencies
	quantity    quantity
	folders     []string
	order       int
	smoothing   smoothing
	head        headFlags
	positions   electrodesFlags
	clock       clockFlags
	rereference rereferenceFlag

	windows windowsFlag
	fade    float64 // of maps: the |t| below which they pale
}

func newFieldFlags() fieldFlags { return fieldFlags{order: 4, quantity: potential} }

func (f *fieldFlags) register(c *cobra.Command) {
	flags := c.Flags()
	flags.Var(&f.at, "at", "latencies 100ms,170ms or windows 150..190ms, whose mean is taken")
	flags.Var(&f.quantity, "field", "potential, csd (current density, from the surface Laplacian); from saved epochs or the participants: t (the mean over its standard error), sem (that error), agreement (how many have the sign of the mean)")
	flags.StringArrayVar(&f.folders, "in", nil, "`FOLDER` to look for a grand average's participants in, which errors need; repeat for more")
	f.registerSpline(c, "gcv finds the one that predicts left-out sites best")
}

// registerSpline adds the flags of how and on which head averages are interpolated; more is
// what the smoothing may be beside a number, empty: nothing.
func (f *fieldFlags) registerSpline(c *cobra.Command, more string) {
	usage := "LAMBDA of the spline: 0 passes through the data"
	if more != "" {
		usage += ", " + more
	}
	c.Flags().IntVar(&f.order, "spline-order", f.order, "`ORDER` of the spherical spline, 3 to 6")
	c.Flags().Var(&f.smoothing, "spline-smoothing", usage)
	f.head.register(c)
	f.positions.register(c, true)
	f.rereference.register(c)
	f.clock.register(c)
}

// fields is what the flags led to.
type fields struct {
	*fieldFlags
	*tables
	head    *headModel
	splines []cachedSpline
	units   [][]*average.Average // with t: the epochs or people behind each average
}

type cachedSpline struct {
	columns []string
	spline  *topo.Spline
}

// wantsUnits reports whether the people or epochs behind the averages are needed.
func (f *fieldFlags) wantsUnits() bool { return f.fade > 0 || f.quantity.needsUnits() }

// check finds what is wrong with the flags before any file is read.
func (f *fieldFlags) check(a *app, c *cobra.Command) error {
	if f.windows.path == "" {
		if err := required(c, "at", "--at 100ms,170ms"); err != nil {
			return err
		}
	}
	if len(f.folders) > 0 && !f.wantsUnits() {
		return console.Usagef("--in is for errors, which need the people behind an average: leave it out, or add --field t")
	}
	if err := checkFolders(f.folders); err != nil {
		return err
	}
	if f.order < 3 || f.order > 6 {
		return console.Usagef("--spline-order %d: expected 3 to 6", f.order)
	}
	if f.quantity == currentDensity && f.order == 3 {
		a.warn([]string{"the current density of order 3 has a cusp at every electrode: use --spline-order 4 or more"})
	}
	return nil
}

// read loads the averages and the head.
func (f *fieldFlags) read(a *app, c *cobra.Command, paths []string) (*fields, error) {
	if err := f.check(a, c); err != nil {
		return nil, err
	}
	if err := f.windows.read(); err != nil {
		return nil, err
	}
	for _, declared := range f.windows.latencies() {
		if !slices.Contains(f.at, declared) {
			f.at = append(f.at, declared)
			c.Flags().Lookup("at").Changed = true // it holds latencies now, which the provenance keeps
		}
	}
	tables, err := f.clock.load(c, paths)
	if err != nil {
		return nil, err
	}
	return f.from(a, c, tables, paths)
}

// from is read for averages that are loaded.
func (f *fieldFlags) from(a *app, c *cobra.Command, tables *tables, paths []string) (*fields, error) {
	if err := f.rereference.apply(a, c, tables); err != nil {
		return nil, err
	}
	tables.differencesLast()
	head, err := f.head.read(a, c)
	if err != nil {
		return nil, err
	}
	if err := head.measure(a, &f.positions); err != nil {
		return nil, err
	}
	out := &fields{fieldFlags: f, tables: tables, head: head}
	if err := out.oneReference(); err != nil {
		return nil, err
	}
	if f.wantsUnits() {
		if err := out.findUnits(c.Context()); err != nil {
			return nil, err
		}
	}
	if f.smoothing.find {
		if err := out.findSmoothing(a); err != nil {
			return nil, err
		}
	}
	for i, avg := range tables.averages {
		if err := c.Context().Err(); err != nil {
			return nil, err
		}
		if _, _, err := out.spline(avg); err != nil {
			return nil, fmt.Errorf("%s: %w", paths[i], err)
		}
	}
	return out, nil
}

// oneReference refuses averages against different references. One that nobody
// told may be the same.
func (f *fields) oneReference() error {
	first := f.firstReferenced()
	for i, avg := range f.averages {
		if r, other := f.averages[first].Info.Reference, avg.Info.Reference; other != "" && other != r {
			return fmt.Errorf("%s and %s have different references, %q and %q: bring them to one before you compare them",
				f.paths[first], f.paths[i], r, other)
		}
	}
	return nil
}

// firstReferenced is the first average whose reference is known, or the first.
func (f *fields) firstReferenced() int {
	known := func(a *average.Average) bool { return a.Info.Reference != "" }
	return max(0, slices.IndexFunc(f.averages, known))
}

// reference is that of all averages in which it is known.
func (f *fields) reference() string { return f.averages[f.firstReferenced()].Info.Reference }

// inputs are the files that must not be written to.
func (f *fields) inputs() []string { return slices.Concat(f.files, f.head.paths, f.windows.paths()) }

// sources are what a figure or table of the fields was made from.
func (f *fields) sources() []provenance.Source {
	return slices.Concat(sources(f.averages), f.head.sources, f.windows.sources())
}

// spline returns the spline through the average's sites, shared by all averages
// of the same columns, and their amplitudes, site × latency.
func (f *fields) spline(avg *average.Average) (*topo.Spline, *mat.Dense, error) {
	amplitudes, err := f.amplitudes(avg)
	if err != nil {
		return nil, nil, err
	}
	for _, s := range f.splines {
		if slices.Equal(s.columns, avg.Sites) {
			return s.spline, amplitudes, nil
		}
	}
	sites, err := f.head.sites(avg.Sites)
	if err != nil {
		return nil, nil, fmt.Errorf("%w: remove or rename the column", err)
	}
	options := topo.Options{Order: f.order, Smoothing: f.smoothing.lambda, Radius: f.head.radius}
	spline, err := topo.New(sites, options)
	if err != nil {
		return nil, nil, err
	}
	f.splines = append(f.splines, cachedSpline{avg.Sites, spline})
	return spline, amplitudes, nil
}

func (f *fields) amplitudes(avg *average.Average) (*mat.Dense, error) {
	amplitudes := mat.NewDense(len(avg.Sites), len(f.at), nil)
	for j, at := range f.at {
		values, err := avg.At(at)
		if err != nil {
			return nil, err
		}
		amplitudes.SetCol(j, values)
	}
	return amplitudes, nil
}
