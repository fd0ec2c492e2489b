package fields

import (
	"slices"

	"gonum.org/v1/gonum/mat"

	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/wearer"
	"calotte/topo"
	"calotte/topo/erp/average"
	"calotte/topo/provenance"
)

// Fields are averages over a head: what is wanted of them, when, and how it is
// interpolated.
type Fields struct {
	*averages.Tables
	Head *wearer.Head
	When
	What
	options topo.Options
	splines []cachedSpline
	remarks []string             // on the spline
	units   [][]*average.Average // with t: the epochs or people behind each average
	known   func() (*known, error)
}

// Inputs are the files that must not be written to.
func (f *Fields) Inputs() []string { return slices.Concat(f.Files, f.Head.Paths, f.Windows.Paths()) }

// Sources are what a figure or table of the fields was made from.
func (f *Fields) Sources() []provenance.Source {
	return slices.Concat(averages.Sources(f.Averages), f.Head.Sources, f.Windows.Sources())
}

// Amplitudes are those of an average, site × latency.
func (f *Fields) Amplitudes(avg *average.Average) (*mat.Dense, error) {
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
