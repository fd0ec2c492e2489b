package scalp

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"calotte/topo"
)

// A Knowledge is what the electrodes of a row that hold data of their own know
// of its maps. Repaired ones know nothing: what they have is from the others.
type Knowledge struct {
	*topo.Territory
	// Spline goes through those electrodes; Own are their indexes in the
	// row.
	Spline *topo.Spline
	Own    []int
	// Rough tells how rough the row's potentials are: its variances are
	// those of the row's columns, its nugget that of all rows with these
	// electrodes.
	Rough topo.Roughness
	// Largest is the largest magnitude at any electrode of the rows that
	// were judged together, in the unit of Values.
	Largest float64
}

// unsure is two errors of the interpolation of a column of the row at the i-th
// node, in the unit of Values: about as much as it may be off.
func (k *Knowledge) unsure(column int, r *Reach, i int) float64 {
	return 2 * math.Sqrt(k.Rough.Variances[column]) * r.nodes[i].unit
}

// Know judges rows that share a scale, each by its electrodes, with one measure
// for all of their maps. Overhang is how far, in mm, maps may go beyond the
// electrodes.
func Know(rows []Row, overhang float64) ([]*Knowledge, error) {
	list := make([]*Knowledge, len(rows))
	largest := 0.
	for i := range rows {
		k, err := rows[i].knowing(list[:i], rows)
		if err != nil {
			return nil, fmt.Errorf("row %d (%q): %w", i+1, rows[i].Title, err)
		}
		list[i] = k
		for _, site := range k.Own {
			for column := range columnsOf(rows[i].Values) {
				largest = max(largest, math.Abs(rows[i].Values.At(site, column)))
			}
		}
	}
	if err := roughen(list, rows); err != nil {
		return nil, err
	}
	var variances []float64
	for _, k := range list {
		variances = append(variances, k.Rough.Variances...)
	}
	together := topo.Together(variances)
	for i, k := range list {
		k.Largest = largest
		same := slices.IndexFunc(list[:i], func(o *Knowledge) bool { return o.Spline == k.Spline })
		if same >= 0 {
			k.Territory = list[same].Territory
			continue
		}
		var err error
		k.Territory, err = k.Spline.Territory(together, k.Rough.Nugget, largest, overhang)
		if err != nil {
			return nil, fmt.Errorf("row %d (%q): %w", i+1, rows[i].Title, err)
		}
	}
	return list, nil
}

func columnsOf(values mat.Matrix) int {
	_, columns := values.Dims()
	return columns
}

// fewestOwn is how many electrodes with data of their own a spline needs.
const fewestOwn = 4

// knowing finds the spline through the electrodes that know, shared with rows
// before that have the same. Where there are too few, all count.
func (r *Row) knowing(before []*Knowledge, rows []Row) (*Knowledge, error) {
	sites, _ := r.Values.Dims()
	k := &Knowledge{Spline: r.Spline}
	for i := range sites {
		if len(r.Marks) == 0 || r.Marks[i].Kind == Measured {
			k.Own = append(k.Own, i)
		}
	}
	if len(k.Own) == sites {
		return k, nil
	}
	if len(k.Own) < fewestOwn {
		k.Own = k.Own[:0]
		for i := range sites {
			k.Own = append(k.Own, i)
		}
		return k, nil
	}
	for i, o := range before {
		if rows[i].Spline == r.Spline && slices.Equal(o.Own, k.Own) {
			k.Spline = o.Spline
			return k, nil
		}
	}
	var err error
	k.Spline, err = r.Spline.Among(k.Own)
	return k, err
}

// roughen finds one nugget for all rows with the same electrodes, and gives
// each row its variances.
func roughen(list []*Knowledge, rows []Row) error {
	done := map[*topo.Spline]bool{}
	for _, first := range list {
		if done[first.Spline] {
			continue
		}
		done[first.Spline] = true
		values := &mat.Dense{}
		for i, k := range list {
			if k.Spline == first.Spline {
				own := ownValues(rows[i].Values, k.Own)
				if values.IsEmpty() {
					values = own
				} else {
					var wider mat.Dense
					wider.Augment(values, own)
					values = &wider
				}
			}
		}
		rough, err := first.Spline.Roughness(values)
		if err != nil {
			return err
		}
		variances := rough.Variances
		for i, k := range list {
			if k.Spline == first.Spline {
				n := columnsOf(rows[i].Values)
				k.Rough = *rough
				k.Rough.Variances, variances = variances[:n], variances[n:]
			}
		}
	}
	return nil
}

func ownValues(values mat.Matrix, own []int) *mat.Dense {
	part := mat.NewDense(len(own), columnsOf(values), nil)
	for to, from := range own {
		for column := range columnsOf(values) {
			part.Set(to, column, values.At(from, column))
		}
	}
	return part
}
