package main

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"calotte/layout"
	"calotte/topo/erp"
	"calotte/topo/inference"
	"calotte/topo/unit"
)

// test adds intervals and p over people or epochs.
func (f *asymmetryFlags) test(ctx context.Context, a *app, rows []asymmetryRow, avg *erp.Average, units []*erp.Average, pairs []layout.Pair, at unit.Latency) error {
	what := "epochs"
	if avg.Info.Kind == erp.GrandAverage {
		what = "people"
	}
	data := mat.NewDense(len(units), len(pairs), nil)
	for u, one := range units {
		values, err := one.At(at)
		if err != nil {
			return err
		}
		for k, p := range pairs {
			data.Set(u, k, values[p.Right]-values[p.Left])
		}
	}
	design, err := inference.Paired(len(units))
	if err != nil {
		return err
	}
	test, err := inference.TestLargest(ctx, design, data, f.options(a))
	if err != nil {
		return err
	}
	column := make([]float64, len(units))
	for k := range rows {
		r := &rows[k]
		mat.Col(column, k, data)
		r.n, r.unit = len(units), what
		r.sem = stat.StdDev(column, nil) / math.Sqrt(float64(len(column)))
		if r.low, r.high, err = inference.TInterval(column, .95); err != nil {
			return err
		}
		r.p, r.adjusted = test.P[k], test.Corrected[k]
		same := 0
		for _, v := range column {
			if v*r.difference > 0 {
				same++
			}
		}
		r.same = float64(same) / float64(len(column))
	}
	return nil
}

func (f *asymmetryFlags) options(a *app) inference.Options {
	return inference.Options{Arrangements: f.arrangements, Seed: a.seed}
}

// known adds what the standard errors of one person's pairs allow.
func known(rows []asymmetryRow, avg *erp.Average, at unit.Latency) error {
	if avg.Info.Epochs == nil || avg.Pairs.SEM == nil || avg.Info.Epochs.Kept < 2 {
		return nil
	}
	n := avg.Info.Epochs.Kept
	errors := &erp.Average{Times: avg.Times, Mean: avg.Pairs.SEM}
	sems, err := errors.At(at)
	if err != nil {
		return err
	}
	for i := range rows {
		r := &rows[i]
		k := slices.Index(avg.Pairs.Names, r.right+"-"+r.left)
		if k < 0 {
			continue
		}
		r.n, r.unit, r.sem = n, "epochs", sems[k]
		half := distuv.StudentsT{Sigma: 1, Nu: float64(n - 1)}.Quantile(.975) * r.sem
		r.low, r.high = r.difference-half, r.difference+half
	}
	return nil
}
