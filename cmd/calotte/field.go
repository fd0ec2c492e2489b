package main

import (
	"errors"
	"fmt"
	"slices"

	"github.com/spf13/cobra"
	"gonum.org/v1/gonum/mat"

	"calotte/cmd/internal/console"
	"calotte/topo"
	"calotte/topo/erp"
	"calotte/topo/unit"
)

// fieldFlags are what every picture or number of a field needs: which quantity,
// when, on which head, by which spline.
type fieldFlags struct {
	at        unit.Latencies
	quantity  quantity
	order     int
	smoothing float64
	head      headFlags
	positions electrodesFlags
	clock     clockFlags
}

func newFieldFlags() fieldFlags { return fieldFlags{order: 4} }

func (f *fieldFlags) register(c *cobra.Command) {
	flags := c.Flags()
	flags.Var(&f.at, "at", "latencies 100ms,170ms or windows 150..190ms, whose mean is taken")
	flags.Var(&f.quantity, "field", "potential or csd (current density, from the surface Laplacian)")
	flags.IntVar(&f.order, "spline-order", f.order, "`ORDER` of the spherical spline, 3 to 6")
	flags.Float64Var(&f.smoothing, "spline-smoothing", 0, "`LAMBDA` of the spline; 0 passes through the data")
	f.head.register(c)
	f.positions.register(c, true)
	f.clock.register(c)
}

// fields is what the flags led to.
type fields struct {
	*fieldFlags
	averages []*erp.Average
	head     *headModel
	splines  []cachedSpline
}

type cachedSpline struct {
	columns []string
	spline  *topo.Spline
}

// read loads the averages and the head.
func (f *fieldFlags) read(a *app, c *cobra.Command, paths []string) (*fields, error) {
	if err := required(c, "at", "--at 100ms,170ms"); err != nil {
		return nil, err
	}
	if f.quantity == quantity(topo.CurrentDensity) && f.order == 3 {
		fmt.Fprintln(a.notes(), "warning: the current density of order 3 has a cusp at every electrode: use --spline-order 4 or more")
	}
	averages, err := f.clock.load(c, paths)
	if err != nil {
		return nil, err
	}
	head, err := f.head.read(a, c)
	if err != nil {
		return nil, err
	}
	if err := head.measure(a, &f.positions); err != nil {
		return nil, err
	}
	out := &fields{fieldFlags: f, averages: averages, head: head}
	for i, avg := range averages {
		if avg.Info.Reference != averages[0].Info.Reference {
			return nil, fmt.Errorf("%s and %s have different references, %q and %q: bring them to one before you compare them",
				paths[0], paths[i], averages[0].Info.Reference, avg.Info.Reference)
		}
		if _, _, err := out.spline(avg); err != nil {
			return nil, fmt.Errorf("%s: %w", paths[i], err)
		}
	}
	return out, nil
}

// spline returns the spline through the average's sites, shared by all averages
// of the same columns, and their amplitudes, site × latency.
func (f *fields) spline(avg *erp.Average) (*topo.Spline, *mat.Dense, error) {
	amplitudes := mat.NewDense(len(avg.Sites), len(f.at), nil)
	for j, at := range f.at {
		values, err := avg.At(at)
		if err != nil {
			return nil, nil, err
		}
		amplitudes.SetCol(j, values)
	}
	for _, s := range f.splines {
		if slices.Equal(s.columns, avg.Sites) {
			return s.spline, amplitudes, nil
		}
	}
	sites, err := f.head.sites(avg.Sites)
	if err != nil {
		return nil, nil, err
	}
	spline, err := topo.New(sites, topo.Options{Order: f.order, Smoothing: f.smoothing, Radius: f.head.radius / 10})
	if err != nil {
		return nil, nil, err
	}
	f.splines = append(f.splines, cachedSpline{avg.Sites, spline})
	return spline, amplitudes, nil
}

// quantity is a flag that names what is mapped.
type quantity topo.Quantity

var quantities = map[string]quantity{
	"potential": quantity(topo.Potential),
	"csd":       quantity(topo.CurrentDensity),
}

func (q *quantity) Set(text string) error {
	v, ok := quantities[text]
	if !ok {
		return errors.New("expected potential or csd")
	}
	*q = v
	return nil
}

func (q quantity) String() string {
	for text, v := range quantities {
		if v == q {
			return text
		}
	}
	return ""
}

func (q quantity) Type() string { return "field" }

func (q quantity) describe() string {
	if q == quantity(topo.CurrentDensity) {
		return "current density (an estimate from the surface Laplacian)"
	}
	return "potential"
}

func (q quantity) unit() string {
	if q == quantity(topo.CurrentDensity) {
		return "µV/cm²"
	}
	return "µV"
}

// limit reads the value at the ends of the scale, in the unit of the quantity.
func (q quantity) limit(text string) (float64, error) {
	if text == "" {
		return 0, nil
	}
	var v float64
	var err error
	if q == quantity(topo.CurrentDensity) {
		var d unit.Density
		err = d.Set(text)
		v = float64(d)
	} else {
		var u unit.Voltage
		err = u.Set(text)
		v = float64(u)
	}
	switch {
	case err != nil:
		return 0, console.Usagef("--limit %w", err)
	case v <= 0:
		return 0, console.Usagef("--limit %s: expected more than 0", text)
	}
	return v, nil
}
