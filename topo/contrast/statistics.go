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
	"calotte/topo/erp/epoch"
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
	width := math.NaN()
	if len(pairs) > 1 {
		if width, err = inference.Simultaneous(ctx, design, data, .95, s.Test); err != nil {
			return err
		}
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
		a.P, a.Corrected, a.Joint = test.P[k], test.Corrected[k], width*a.SEM
		if math.IsInf(width, 1) {
			a.Joint = math.NaN() // so few flips know no such interval
		}
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

// known adds what the standard errors of an average's pairs allow. Of centres
// other than means right minus left is that of each epoch's or person's own.
func known(rows []Asymmetry, avg *average.Average, pairs []SidePair, at unit.Latency) error {
	n, over := behind(avg.Info)
	if avg.Pairs.SEM == nil || n < 2 {
		return nil
	}
	errors := &average.Average{Times: avg.Times, Mean: avg.Pairs.SEM}
	sems, err := errors.At(at)
	if err != nil {
		return err
	}
	differences, err := (&average.Average{Times: avg.Times, Mean: avg.Pairs.Mean}).At(at)
	if err != nil {
		return err
	}
	centre := avg.Info.Outer()
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
		a.N, a.Over, a.SEM = n, over, sems[i]
		if centre != epoch.Mean {
			a.Difference, a.Centres = differences[i], avg.Info.Centres()
		}
		half := centre.HalfInterval(n) * a.SEM
		a.Low, a.High = a.Difference-half, a.Difference+half
	}
	return nil
}

// behind is of how many units the errors of an average are, as far as they are
// not at hand, and what they are; zero: not known, or they are.
func behind(i average.Info) (n int, over string) {
	switch {
	case i.Across != "":
		return len(i.Members), overPeople
	case i.Epochs != nil:
		return i.Epochs.Kept, overEpochs
	}
	return 0, ""
}

// halfInterval is half of the 95 % interval of a mean of n by t, in standard
// errors.
func halfInterval(n int) float64 {
	return distuv.StudentsT{Sigma: 1, Nu: float64(n - 1)}.Quantile(.975)
}
