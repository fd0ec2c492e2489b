package contrast

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"calotte/layout"
	"calotte/topo/erp/average"
	"calotte/topo/inference"
	"calotte/topo/unit"
)

// test adds intervals and p over the units of a sample.
func (s Sides) test(ctx context.Context, rows []Asymmetry, of Sample, pairs []SidePair, at unit.Latency) error {
	n := len(of.Units)
	data := mat.NewDense(n, len(pairs), nil)
	for u, one := range of.Units {
		values, err := one.At(at)
		if err != nil {
			return err
		}
		for k, p := range pairs {
			left, right := p.of(values)
			data.Set(u, k, right-left)
		}
	}
	design, err := inference.Paired(n)
	if err != nil {
		return err
	}
	test, err := inference.TestLargest(ctx, design, data, s.Test)
	if err != nil {
		return err
	}
	column := make([]float64, n)
	for k := range rows {
		a := &rows[k]
		mat.Col(column, k, data)
		a.N, a.Over = n, of.Over()
		a.SEM = stat.StdDev(column, nil) / math.Sqrt(float64(n))
		if a.Low, a.High, err = inference.TInterval(column, .95); err != nil {
			return err
		}
		a.P, a.Corrected = test.P[k], test.Corrected[k]
		same := 0
		for _, v := range column {
			if v*a.Difference > 0 {
				same++
			}
		}
		a.SameSign = float64(same) / float64(n)
	}
	return nil
}

// known adds what the standard errors of one person's pairs allow.
func known(rows []Asymmetry, avg *average.Average, pairs []SidePair, at unit.Latency) error {
	if avg.Info.Epochs == nil || avg.Pairs.SEM == nil || avg.Info.Epochs.Kept < 2 {
		return nil
	}
	n := avg.Info.Epochs.Kept
	errors := &average.Average{Times: avg.Times, Mean: avg.Pairs.SEM}
	sems, err := errors.At(at)
	if err != nil {
		return err
	}
	for k, p := range pairs {
		a := &rows[k]
		i := -1
		if len(p.Left.Rows) == 1 { // of a pool no error is kept
			pair := layout.Pair{Left: p.Left.Rows[0], Right: p.Right.Rows[0]}
			i = slices.Index(avg.Pairs.Names, average.PairName(avg.Sites, pair))
		}
		if i < 0 {
			continue
		}
		a.N, a.Over, a.SEM = n, overEpochs, sems[i]
		half := halfInterval(n) * a.SEM
		a.Low, a.High = a.Difference-half, a.Difference+half
	}
	return nil
}

// halfInterval is half of the 95 % interval of a mean of n by t, in standard
// errors.
func halfInterval(n int) float64 {
	return distuv.StudentsT{Sigma: 1, Nu: float64(n - 1)}.Quantile(.975)
}
