package fields

import (
	"context"
	"fmt"
	"slices"

	"calotte/cmd/internal/archive"
	"calotte/topo/contrast"
	"calotte/topo/erp/average"
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
			return fmt.Errorf("%s: its errors need what it is the mean of, two or more: average with --save-epochs, "+
				"or give a grand average", f.Paths[i])
		}
		f.Files = append(f.Files, read...)
		for k, u := range units {
			if !slices.Equal(u.Sites, avg.Sites) || len(u.Times) != len(avg.Times) {
				return fmt.Errorf("%s: number %d of the %d behind it has other sites or samples: errors cannot be had",
					f.Paths[i], k+1, len(units))
			}
		}
		f.units = append(f.units, units)
	}
	return nil
}

// UnitsOf are the people behind an average or the epochs saved with it, none
// where they are not at hand, and the files that were read.
func (f *Fields) UnitsOf(ctx context.Context, i int) (units []*average.Average, read []string, err error) {
	if f.Averages[i].Info.Kind == average.GrandAverage {
		return f.PeopleOf(ctx, i)
	}
	epochs, read, err := archive.LoadEpochs(f.Paths[i])
	if err != nil || epochs == nil {
		return nil, nil, err
	}
	units, err = f.rereferenced(contrast.Epochs(epochs))
	return units, read, err
}

// PeopleOf are those behind a grand average; there are none behind others.
func (f *Fields) PeopleOf(ctx context.Context, i int) (people []*average.Average, read []string, err error) {
	avg, path := f.Averages[i], f.Paths[i]
	switch {
	case avg.Info.Kind != average.GrandAverage:
		return nil, nil, nil
	case avg.Info.Weighted:
		return nil, nil, fmt.Errorf("%s is weighted by epochs, and its errors between the sites are not defined "+
			"here: combine without --weighted", path)
	}
	if people, read, err = archive.LoadMembers(ctx, path, avg.Info, f.Folders); err != nil {
		return nil, nil, err
	}
	people, err = f.rereferenced(people)
	return people, read, err
}

// rereferenced gives units the reference that is asked for.
func (f *Fields) rereferenced(units []*average.Average) ([]*average.Average, error) {
	if f.Rereference.Reference.String() == "recorded" {
		return units, nil
	}
	out := make([]*average.Average, len(units))
	for k, u := range units {
		step, err := f.Rereference.Reference.Linear(u.Sites)
		if err != nil {
			return nil, err
		}
		if out[k], err = u.Through(step, nil); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// Sample is an average with the units that were found behind it.
func (f *Fields) Sample(i int) contrast.Sample {
	return contrast.Sample{Average: f.Averages[i], Units: f.units[i]}
}
