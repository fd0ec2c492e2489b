package main

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"calotte/topo/erp"
)

// contralateral compares the side across from a stimulus with the side that it is on. Of
// stimuli on the left (A) the right is contralateral, of those on the right (B) the left:
// contralateral minus ipsilateral is half of A's right minus left less B's.
func (f *asymmetryFlags) contralateral(ctx context.Context, a *app, fields *fields, titles []string) ([]asymmetryRow, error) {
	one, two := fields.averages[0], fields.averages[1]
	if !slices.Equal(one.Sites, two.Sites) || !slices.Equal(one.Times, two.Times) {
		return nil, fmt.Errorf("%s and %s have other sites or samples: --contralateral needs the same", fields.paths[0], fields.paths[1])
	}
	pairs, err := f.pairs(one.Sites)
	if err != nil {
		return nil, err
	}
	units, err := f.sidedUnits(fields)
	if err != nil {
		return nil, err
	}
	half := halfDifference(one, two)
	spline, _, err := fields.spline(one)
	if err != nil {
		return nil, err
	}
	sites, err := fields.head.sites(one.Sites)
	if err != nil {
		return nil, err
	}
	var rows []asymmetryRow
	for _, at := range f.field.at {
		left, err := one.At(at)
		if err != nil {
			return nil, err
		}
		right, err := two.At(at)
		if err != nil {
			return nil, err
		}
		mean := mat.NewDense(len(left), 1, nil)
		for i := range left {
			mean.Set(i, 0, (left[i]-right[i])/2)
		}
		coefficients, err := spline.Solve(mean)
		if err != nil {
			return nil, err
		}
		nan := math.NaN()
		var own []asymmetryRow
		for _, p := range pairs {
			own = append(own, asymmetryRow{
				condition: titles[0] + ", " + titles[1], at: at, left: one.Sites[p.Left], right: one.Sites[p.Right], contra: true,
				values:     [2]float64{(left[p.Left] + right[p.Right]) / 2, (left[p.Right] + right[p.Left]) / 2},
				difference: mean.At(p.Right, 0) - mean.At(p.Left, 0),
				sem:        nan, low: nan, high: nan, p: nan, adjusted: nan, same: nan,
				repaired: repaired(one, one.Sites[p.Left]) || repaired(one, one.Sites[p.Right]) || repaired(two, one.Sites[p.Left]) || repaired(two, one.Sites[p.Right]),
			})
		}
		if len(units) >= 2 {
			if err := f.test(ctx, a, own, half, units, pairs, at); err != nil {
				return nil, err
			}
		}
		for k, p := range pairs {
			own[k].crooked(spline, coefficients, sites[p.Left].Position, sites[p.Right].Position, 0, fields.head.radius)
			own[k].mirrored = math.NaN()
			if fields.head.measured != nil {
				own[k].mirrored = mirroredDifference(spline, coefficients, sites[p.Left].Position, sites[p.Right].Position, 0)
			}
			own[k].checked = f.cap.change(spline, coefficients, sites[p.Left].Position, sites[p.Right].Position, 0)
		}
		rows = append(rows, own...)
	}
	return rows, nil
}

// halfDifference is half of one average less another.
func halfDifference(one, two *erp.Average) *erp.Average {
	out := &erp.Average{Sites: one.Sites, Times: one.Times, Info: one.Info}
	for i := range one.Mean {
		row := make([]float64, len(one.Times))
		for k := range row {
			row[k] = (one.Mean[i][k] - two.Mean[i][k]) / 2
		}
		out.Mean = append(out.Mean, row)
	}
	return out
}

// sidedUnits are the people behind two grand averages, matched by their labels, each with
// half of the difference of the two. Of one person there are none: epochs of two kinds of
// stimuli have no partners.
func (f *asymmetryFlags) sidedUnits(fields *fields) ([]*erp.Average, error) {
	var people [2][]*erp.Average
	for i, avg := range fields.averages {
		if avg.Info.Kind != erp.GrandAverage {
			return nil, nil
		}
		units, read, err := fields.unitsOf(i)
		if err != nil {
			return nil, err
		}
		fields.files = append(fields.files, read...)
		people[i] = units
	}
	var out []*erp.Average
	for _, one := range people[0] {
		k := slices.IndexFunc(people[1], func(two *erp.Average) bool { return two.Info.Name == one.Info.Name })
		if k < 0 || len(people[0]) != len(people[1]) {
			return nil, fmt.Errorf("%s and %s are of other people (%s has no partner): --contralateral needs the same", fields.paths[0], fields.paths[1], one.Info.Name)
		}
		out = append(out, halfDifference(one, people[1][k]))
	}
	return out, nil
}
