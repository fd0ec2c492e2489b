package main

import (
	"context"
	"fmt"
	"slices"

	"calotte/cmd/internal/archive"
	"calotte/topo/contrast"
	"calotte/topo/erp/average"
)

// findUnits loads what each average is the mean of: the epochs that were saved with it,
// or the participants of a grand average.
func (f *fields) findUnits(ctx context.Context) error {
	for i, avg := range f.averages {
		units, read, err := f.unitsOf(ctx, i)
		if err != nil {
			return err
		}
		if len(units) < 2 {
			return fmt.Errorf("%s: its errors need what it is the mean of, two or more: average with --save-epochs, or give a grand average", f.paths[i])
		}
		f.files = append(f.files, read...)
		for k, u := range units {
			if !slices.Equal(u.Sites, avg.Sites) || len(u.Times) != len(avg.Times) {
				return fmt.Errorf("%s: number %d of the %d behind it has other sites or samples: errors cannot be had", f.paths[i], k+1, len(units))
			}
		}
		f.units = append(f.units, units)
	}
	return nil
}

// unitsOf are the people behind an average or the epochs saved with it, none where they
// are not at hand, and the files that were read.
func (f *fields) unitsOf(ctx context.Context, i int) (units []*average.Average, read []string, err error) {
	if f.averages[i].Info.Kind == average.GrandAverage {
		return f.peopleOf(ctx, i)
	}
	epochs, read, err := archive.LoadEpochs(f.paths[i])
	if err != nil || epochs == nil {
		return nil, nil, err
	}
	units, err = f.rereferenced(contrast.Epochs(epochs))
	return units, read, err
}

// peopleOf are those behind a grand average; there are none behind others.
func (f *fields) peopleOf(ctx context.Context, i int) (people []*average.Average, read []string, err error) {
	avg, path := f.averages[i], f.paths[i]
	switch {
	case avg.Info.Kind != average.GrandAverage:
		return nil, nil, nil
	case avg.Info.Weighted:
		return nil, nil, fmt.Errorf("%s is weighted by epochs, and its errors between the sites are not defined here: combine without --weighted", path)
	}
	if people, read, err = archive.LoadMembers(ctx, path, avg.Info, f.folders); err != nil {
		return nil, nil, err
	}
	people, err = f.rereferenced(people)
	return people, read, err
}

// rereferenced gives units the reference that is asked for.
func (f *fields) rereferenced(units []*average.Average) ([]*average.Average, error) {
	if f.rereference.reference.String() == "recorded" {
		return units, nil
	}
	out := make([]*average.Average, len(units))
	for k, u := range units {
		step, err := f.rereference.reference.Linear(u.Sites)
		if err != nil {
			return nil, err
		}
		if out[k], err = u.Through(step, nil); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// sample is an average with the units that were found behind it.
func (f *fields) sample(i int) contrast.Sample {
	return contrast.Sample{Average: f.averages[i], Units: f.units[i]}
}
