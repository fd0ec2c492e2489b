package averages

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"slices"

	"calotte/cmd/internal/archive"
	"calotte/topo/contrast"
	"calotte/topo/erp/average"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/store"
)

// UnitsOf are the people behind an average or the epochs saved with it, none
// where they are not at hand or the average is another centre of them than the
// mean, and the files that were read.
func (t *Tables) UnitsOf(ctx context.Context, i int) (units []*average.Average, read []string, err error) {
	switch info := t.Averages[i].Info; {
	case info.Across != "" || info.Centre != "" && info.Kind != average.GrandAverage:
		return nil, nil, nil // what is done to units is for their means
	case info.Kind == average.GrandAverage:
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

// notOfMeans refuses other centres where means are asked for.
func notOfMeans(info average.Info) error {
	return fmt.Errorf("it is the %s, and this is done for means alone: average or combine without --centre",
		info.Centres())
}

// Members are the people behind a grand average, in the reference that is asked
// for.
func (t *Tables) Members(ctx context.Context, i int) (people []*average.Average, read []string, err error) {
	if t.Averages[i].Info.Across != "" {
		return nil, nil, fmt.Errorf("%s: %w", t.Paths[i], notOfMeans(t.Averages[i].Info))
	}
	if people, read, err = t.shelf.LoadMembers(ctx, t.Paths[i], t.Averages[i].Info, t.folders); err != nil {
		return nil, nil, err
	}
	people, err = t.rereferenced(people)
	return people, read, err
}

// Measured are the people behind an average, or the one whose average it is,
// each with the epochs that were saved, which measurement errors ask for. They
// are read one after the other, and the files added to those of the tables.
func (t *Tables) Measured(ctx context.Context, i int) iter.Seq2[contrast.Sample, error] {
	return func(yield func(contrast.Sample, error) bool) {
		paths, err := t.measuredPaths(ctx, i)
		if err != nil {
			yield(contrast.Sample{}, err)
			return
		}
		for _, path := range paths {
			sample, _, err := t.person(path, i)
			if err == nil && len(sample.Units) < 2 {
				err = errors.New("measurement errors need two saved epochs or more: average with " +
					"--save-epochs")
			}
			if err != nil && path != t.Paths[i] {
				err = fmt.Errorf("%s: %w", path, err)
			}
			if !yield(sample, err) || err != nil {
				return
			}
		}
	}
}

// measuredPaths are the tables of one average a person.
func (t *Tables) measuredPaths(ctx context.Context, i int) ([]string, error) {
	info, path := t.Averages[i].Info, t.Paths[i]
	if info.Centres() != "" {
		return nil, notOfMeans(info)
	}
	if info.Minus != "" {
		return nil, errors.New("it is a difference of conditions, and measurement errors are of one: give the " +
			"averages of both")
	}
	if info.Kind != average.GrandAverage {
		return []string{path}, nil
	}
	tables, err := t.shelf.MemberTables(ctx, path, info, t.folders)
	if err != nil {
		return nil, err
	}
	return slices.Concat(tables...), nil
}

// Trials are the average of one person with the epochs that were saved, and of
// each epoch where it comes from. There are none of other averages, and where
// none were saved.
func (t *Tables) Trials(i int) (contrast.Sample, []epoch.Row, error) {
	if info := t.Averages[i].Info; info.Kind == average.GrandAverage || info.Minus != "" {
		return contrast.Sample{Average: t.Averages[i]}, nil, nil
	}
	return t.person(t.Paths[i], i)
}

// person is a person's average, which is one behind another or that itself,
// with its epochs and where each comes from.
func (t *Tables) person(path string, behind int) (sample contrast.Sample, rows []epoch.Row, err error) {
	avg := t.Averages[behind]
	if path != t.Paths[behind] {
		var read []string
		if avg, read, err = t.shelf.Load(path, average.Clock{}, store.Means); err != nil {
			return sample, nil, err
		}
		t.Files = append(t.Files, read...)
		one, err := t.rereferenced([]*average.Average{avg})
		if err != nil {
			return sample, nil, err
		}
		avg = one[0]
	}
	if !slices.Equal(avg.Sites, t.Averages[behind].Sites) {
		return sample, nil, fmt.Errorf("its sites are not those of %s, or in another order: bring all "+
			"onto the same "+
			"sites first", t.Paths[behind])
	}
	sample.Average = avg
	epochs, read, err := archive.LoadEpochs(path)
	if err != nil || epochs == nil {
		return sample, nil, err
	}
	t.Files = append(t.Files, read...)
	for k := range epochs.Len() {
		_, row := epochs.At(k)
		rows = append(rows, row)
	}
	sample.Units, err = t.rereferenced(contrast.Epochs(epochs))
	return sample, rows, err
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
