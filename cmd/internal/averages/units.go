package averages

import (
	"context"
	"fmt"

	"calotte/cmd/internal/archive"
	"calotte/topo/contrast"
	"calotte/topo/erp/average"
)

// UnitsOf are the people behind an average or the epochs saved with it, none
// where they are not at hand, and the files that were read.
func (t *Tables) UnitsOf(ctx context.Context, i int) (units []*average.Average, read []string, err error) {
	if t.Averages[i].Info.Kind == average.GrandAverage {
		return t.PeopleOf(ctx, i)
	}
	epochs, read, err := archive.LoadEpochs(t.Paths[i])
	if err != nil || epochs == nil {
		return nil, nil, err
	}
	units, err = t.rereferenced(contrast.Epochs(epochs))
	return units, read, err
}

// PeopleOf are those behind a grand average; there are none behind others.
func (t *Tables) PeopleOf(ctx context.Context, i int) (people []*average.Average, read []string, err error) {
	avg, path := t.Averages[i], t.Paths[i]
	switch {
	case avg.Info.Kind != average.GrandAverage:
		return nil, nil, nil
	case avg.Info.Weighted:
		return nil, nil, fmt.Errorf("%s is weighted by epochs, and its errors between the sites are "+
			"not defined "+
			"here: combine without --weighted", path)
	}
	return t.Members(ctx, i)
}

// Members are the people behind a grand average, in the reference that is asked
// for.
func (t *Tables) Members(ctx context.Context, i int) (people []*average.Average, read []string, err error) {
	if people, read, err = archive.LoadMembers(ctx, t.Paths[i], t.Averages[i].Info, t.folders); err != nil {
		return nil, nil, err
	}
	people, err = t.rereferenced(people)
	return people, read, err
}

// rereferenced gives units the reference that is asked for.
func (t *Tables) rereferenced(units []*average.Average) ([]*average.Average, error) {
	if t.reference.String() == "recorded" {
		return units, nil
	}
	out := make([]*average.Average, len(units))
	for k, u := range units {
		step, err := t.reference.Linear(u.Sites)
		if err != nil {
			return nil, err
		}
		if out[k], err = u.Through(step, nil); err != nil {
			return nil, err
		}
	}
	return out, nil
}
