package montage

import (
	"errors"
	"fmt"

	"gonum.org/v1/gonum/mat"

	"calotte/layout"
	"calotte/topo/erp/average"
	"calotte/topo/erp/internal/list"
)

// Linear is the way from the recorded reference of an average, or any other, to
// r, for the sites of the average: that of the average reference is the mean of
// all of them.
func (r Reference) Linear(sites []string) (average.Linear, error) {
	n := len(sites)
	l := average.Linear{Sites: sites, Weights: mat.NewDense(n, n, nil), KeepsPairs: true,
		Note: "re-referenced after averaging"}
	for i := range n {
		l.Weights.Set(i, i, 1)
	}
	rows := list.Indexes(n)
	switch {
	case r.average && n < 2:
		return l, errors.New("the average of one site is zero: give another reference")
	case !r.average && len(r.sites) == 0:
		l.Note = ""
		return l, nil
	case !r.average:
		rows = nil
		index := layout.Rows(sites)
		for _, s := range r.sites {
			i, ok := index[s]
			if !ok {
				return l, fmt.Errorf("the average has no %s to be the reference (ears and mastoids "+
					"are not kept in "+
					"averages): choose among its sites, or average the recording again", s)
			}
			rows = append(rows, i)
		}
	}
	l.Reference = r.Describe(n, &Montage{})
	for i := range n {
		for _, j := range rows {
			l.Weights.Set(i, j, l.Weights.At(i, j)-1/float64(len(rows)))
		}
	}
	return l, nil
}
