package fields

import (
	"context"
	"fmt"
	"slices"

	"calotte/topo/contrast"
)

// findUnits loads what each average is the mean of: the epochs that were saved
// with it, or the participants of a grand average.
func (f *Fields) findUnits(ctx context.Context) error {
	for i, avg := range f.Averages {
		units, read, err := f.UnitsOf(ctx, i)
		if err != nil {
			return err
		}
		if len(units) < 2 {
			return fmt.Errorf("%s: its errors need what it is the mean of, two or more: average with "+
				"--save-epochs, "+
				"or give a grand average", f.Paths[i])
		}
		f.Files = append(f.Files, read...)
		for k, u := range units {
			if !slices.Equal(u.Sites, avg.Sites) || len(u.Times) != len(avg.Times) {
				return fmt.Errorf("%s: number %d of the %d behind it has other sites or samples: "+
					"errors cannot be had",
					f.Paths[i], k+1, len(units))
			}
		}
		f.units = append(f.units, units)
	}
	return nil
}

// Sample is an average with the units that were found behind it.
func (f *Fields) Sample(i int) contrast.Sample {
	return contrast.Sample{Average: f.Averages[i], Units: f.units[i]}
}

// Over is what all averages are the mean of, "people" or "epochs"; empty where
// they differ.
func (f *Fields) Over() string {
	over := f.Sample(0).Over()
	for i := range f.Averages {
		if f.Sample(i).Over() != over {
			return ""
		}
	}
	return over
}
