package array

import (
	"fmt"

	"calotte/layout/rowtable"
	"calotte/topo/recording"
)

// A Description says of an array what it does not say itself.
type Description struct {
	Rate  float64  // Hz
	Unit  string   // of all values, such as "uV"
	Sites []string // names in the order of the array; nil: those of the table's columns
	Order Order    // of the axes; nil: told by the number of names
}

// sites are the names of the description or of the table, all different.
func (a *Array) sites(d Description) ([]string, error) {
	names := d.Sites
	if names == nil {
		names = a.Names
	}
	if names == nil {
		return nil, sayf(ErrSites, "the file does not name its sites: give their names")
	}
	given := map[string]bool{}
	for _, name := range names {
		if given[name] {
			return nil, fmt.Errorf("two sites are named %q: give names that differ", rowtable.Clip(name))
		}
		given[name] = true
	}
	return names, nil
}

// Recording makes a continuous recording of an array of two axes. It has no
// events. Samples are read from the file when they are asked for.
//
// Axes that cannot be told apart, names that are missing, twice there or not as
// many as sites, a unit that is no voltage, and a rate that is not above zero
// are errors.
func (a *Array) Recording(d Description) (*recording.Recording, error) {
	if len(a.Shape) == 3 {
		return nil, fmt.Errorf("an array of 3 axes (%v) is cut epochs: expected a recording of 2, sites and "+
			"samples", a)
	}
	names, err := a.sites(d)
	if err != nil {
		return nil, err
	}
	if _, err := recording.Microvolts(d.Unit); err != nil {
		return nil, err
	}
	order, err := a.order(d.Order, len(names))
	if err != nil {
		return nil, err
	}
	h := recording.Header{Kind: a.Kind}
	for _, name := range names {
		h.Signals = append(h.Signals, recording.Signal{Label: name, Unit: d.Unit})
	}
	s := &source{array: a, names: names, rate: d.Rate, site: a.strides[order.at(Sites)],
		sample: a.strides[order.at(Samples)]}
	r, err := recording.New(h, d.Rate, a.Shape[order.at(Samples)], s)
	if err == nil && a.Kind != recording.Text {
		what := "the array"
		if a.Name != "" {
			what = "variable " + rowtable.Clip(a.Name)
		}
		r.Notes = append(r.Notes, fmt.Sprintf("%s (%v) is taken as %s × %s", what, a, order[0], order[1]))
	}
	return r, err
}

// A source reads the samples of an array of two axes.
type source struct {
	array        *Array
	names        []string
	rate         float64
	site, sample int // strides
}

// mostAtOnce bounds how many values are read at once.
const mostAtOnce = 1 << 17

// Read reads samples as [recording.Source] has it.
func (s *source) Read(signals []int, first int, dst [][]float64) error {
	if err := s.read(signals, first, dst); err != nil {
		return err
	}
	for row, signal := range signals {
		for i, x := range dst[row] {
			if x-x != 0 {
				at := first + i
				return fmt.Errorf("site %s, sample %d (counted from 1, at %.6g s): %v; expected a "+
					"finite number",
					s.names[signal], at+1, float64(at)/s.rate, x)
			}
		}
	}
	return nil
}

func (s *source) read(signals []int, first int, dst [][]float64) error {
	if s.sample == 1 {
		for row, signal := range signals {
			if err := s.array.numbers.slab(dst[row], signal*s.site+first); err != nil {
				return err
			}
		}
		return nil
	}
	// The sites of a sample lie together: all of them are read, and the
	// wanted ones kept.
	step := max(1, mostAtOnce/s.sample)
	all := make([]float64, min(step, len(dst[0]))*s.sample)
	for from := 0; from < len(dst[0]); from += step {
		n := min(step, len(dst[0])-from)
		if err := s.array.numbers.slab(all[:n*s.sample], (first+from)*s.sample); err != nil {
			return err
		}
		for row, signal := range signals {
			for i := range n {
				dst[row][from+i] = all[i*s.sample+signal*s.site]
			}
		}
	}
	return nil
}
