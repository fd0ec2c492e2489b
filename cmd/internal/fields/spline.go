package fields

import (
	"fmt"
	"slices"
	"sync"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/session"
	"calotte/cmd/internal/wearer"
	"calotte/topo"
	"calotte/topo/erp/average"
)

// A Spline says on which head and how averages are interpolated.
type Spline struct {
	Order     int
	Smoothing smoothing
	head      wearer.Flags
	positions wearer.Electrodes
}

// NewSpline is what holds where the flags are not given.
func NewSpline() Spline { return Spline{Order: 4} }

// Register adds the flags; more is what the smoothing may be beside a number,
// empty: nothing.
func (s *Spline) Register(c *cobra.Command, more string) {
	usage := "LAMBDA of the spline: 0 passes through the data"
	if more != "" {
		usage += ", " + more
	}
	c.Flags().IntVar(&s.Order, "spline-order", s.Order, "`ORDER` of the spherical spline, 3 to 6")
	c.Flags().Var(&s.Smoothing, "spline-smoothing", usage)
	s.head.Register(c)
	s.positions.Register(c, true)
}

// Check finds what is wrong with the flags before any file is read.
func (s *Spline) Check() error {
	if s.Order < 3 || s.Order > 6 {
		return console.Usagef("--spline-order %d: expected 3 to 6", s.Order)
	}
	return nil
}

// Read finds the head and lays splines through the averages.
func (s *Spline) Read(a *session.Session, c *cobra.Command, tables *averages.Tables, when When) (*Fields, error) {
	tables.DifferencesLast()
	head, err := s.head.Read(a, c)
	if err != nil {
		return nil, err
	}
	if err := head.Measure(a, &s.positions); err != nil {
		return nil, err
	}
	f := s.Over(tables, head, when)
	if err := f.oneReference(); err != nil {
		return nil, err
	}
	if f.Reference() == average.AsRecorded {
		a.Warn([]string{"no reference is stated, and none was computed: what it picks up is in every value, " +
			"and a map of it may show the reference more than the head; --reference average is one " +
			"that is known"})
	}
	if s.Smoothing.Find {
		if err := f.findSmoothing(a, c); err != nil {
			return nil, err
		}
	}
	for i, avg := range f.Averages {
		if err := c.Context().Err(); err != nil {
			return nil, err
		}
		if err := f.try(avg); err != nil {
			return nil, fmt.Errorf("%s: %w", f.Paths[i], err)
		}
	}
	return f, nil
}

// Over are the potentials of averages over a head that is known.
func (s *Spline) Over(tables *averages.Tables, head *wearer.Head, when When) *Fields {
	f := &Fields{Tables: tables, Head: head, When: when, What: NewWhat(),
		options: topo.Options{Order: s.Order, Smoothing: s.Smoothing.lambda, Radius: head.Radius}}
	f.known = sync.OnceValues(f.know)
	return f
}

type cachedSpline struct {
	columns []string
	spline  *topo.Spline
}

// Spline returns the spline through the average's sites, shared by all averages
// of the same columns.
func (f *Fields) Spline(avg *average.Average) (*topo.Spline, error) {
	for _, s := range f.splines {
		if slices.Equal(s.columns, avg.Sites) {
			return s.spline, nil
		}
	}
	sites, err := f.Head.Sites(avg.Sites)
	if err != nil {
		return nil, fmt.Errorf("%w: remove or rename the column", err)
	}
	spline, err := topo.New(sites, f.options)
	if err != nil {
		return nil, err
	}
	f.splines = append(f.splines, cachedSpline{avg.Sites, spline})
	return spline, nil
}

// try finds what stands in the way of an average's field.
func (f *Fields) try(avg *average.Average) error {
	for _, at := range f.At {
		if _, err := avg.At(at); err != nil {
			return err
		}
	}
	_, err := f.Spline(avg)
	return err
}
