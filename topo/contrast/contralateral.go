package contrast

import (
	"context"
	"fmt"
	"slices"

	"gonum.org/v1/gonum/mat"

	"calotte/topo/erp/average"
	"calotte/topo/unit"
)

// A MismatchError says why two samples cannot be set against each other.
type MismatchError struct{ Reason string } // reads on after the names of the two

func (e *MismatchError) Error() string {
	return "the averages of stimuli on the left and on the right " + e.Reason + ": the same are needed"
}

// Contralateral compares the side across from a stimulus with the side that it
// is on, of averages of stimuli (or responses) on the left and on the right, of
// the same people. Of stimuli on the left the right is contralateral, of those
// on the right the left: contralateral minus ipsilateral is half of right minus
// left on the left less that on the right. It is tested over the people behind
// two grand averages, matched by their labels; of one person there is no test,
// since epochs of two kinds of stimuli have no partners. Samples that do not
// fit are a *[MismatchError].
func (s Sides) Contralateral(ctx context.Context, left, right Sample, at []unit.Latency) ([]Asymmetry, error) {
	one, two := left.Average, right.Average
	if !slices.Equal(one.Sites, two.Sites) || !slices.Equal(one.Times, two.Times) {
		return nil, &MismatchError{"have other sites or samples"}
	}
	pairs, err := s.Pairs(one.Sites)
	if err != nil {
		return nil, err
	}
	sample, err := s.sided(left, right)
	if err != nil {
		return nil, err
	}
	errors, err := s.placedErrors(sample.recorded, pairs, at)
	if err != nil {
		return nil, err
	}
	one, two = sample.left, sample.right
	var rows []Asymmetry
	for column, latency := range at {
		onLeft, err := one.At(latency)
		if err != nil {
			return nil, err
		}
		onRight, err := two.At(latency)
		if err != nil {
			return nil, err
		}
		mean := mat.NewDense(len(onLeft), 1, nil)
		for i := range onLeft {
			mean.Set(i, 0, (onLeft[i]-onRight[i])/2)
		}
		field, err := s.field(one.Sites, mean)
		if err != nil {
			return nil, err
		}
		var own []Asymmetry
		for _, p := range pairs {
			a := newAsymmetry()
			a.Sided = true
			oneLeft, oneRight := p.of(onLeft)
			twoLeft, twoRight := p.of(onRight)
			a.First, a.Second = (oneLeft+twoRight)/2, (oneRight+twoLeft)/2
			left, right := p.of(mean.RawMatrix().Data)
			a.Difference = right - left
			own = append(own, a)
		}
		if len(sample.half.Units) >= 2 {
			if err := s.test(ctx, own, sample.half, pairs, latency); err != nil {
				return nil, err
			}
		}
		if err := carried(own, sample.recorded, pairs, latency); err != nil {
			return nil, err
		}
		s.place(own, errors, column)
		s.complete(own, pairs, latency, left.title()+", "+right.title(), field, 0, one, two)
		rows = append(rows, own...)
	}
	return rows, nil
}

// A sidedSample is averages of stimuli on the left and on the right at the
// ideal sites, and half of their difference, there and as it was recorded.
type sidedSample struct {
	left, right    *average.Average
	half, recorded Sample
}

func (s Sides) sided(left, right Sample) (out sidedSample, err error) {
	if out.recorded, err = halfOf(left, right); err != nil {
		return out, err
	}
	if left, err = s.atIdeal(left); err != nil {
		return out, err
	}
	if right, err = s.atIdeal(right); err != nil {
		return out, err
	}
	out.left, out.right = left.Average, right.Average
	out.half, err = halfOf(left, right)
	return out, err
}

// halfOf is half of the difference of two samples, within each of the people
// behind two grand averages.
func halfOf(one, two Sample) (Sample, error) {
	half := Sample{Average: halfDifference(one.Average, two.Average)}
	if one.Average.Info.Kind != average.GrandAverage || two.Average.Info.Kind != average.GrandAverage {
		return half, nil
	}
	for _, a := range one.Units {
		k := slices.IndexFunc(two.Units, func(b *average.Average) bool { return b.Info.Name == a.Info.Name })
		if k < 0 || len(one.Units) != len(two.Units) {
			return half, &MismatchError{fmt.Sprintf("are of other people (%s has no partner)", a.Info.Name)}
		}
		half.Units = append(half.Units, halfDifference(a, two.Units[k]))
	}
	return half, nil
}

// halfDifference is half of one average less another.
func halfDifference(one, two *average.Average) *average.Average {
	out := &average.Average{Sites: one.Sites, Times: one.Times, Info: one.Info}
	out.Info.Gaze = one.Info.Gaze.Minus(two.Info.Gaze).Times(.5)
	for i := range one.Mean {
		row := make([]float64, len(one.Times))
		for k := range row {
			row[k] = (one.Mean[i][k] - two.Mean[i][k]) / 2
		}
		out.Mean = append(out.Mean, row)
	}
	return out
}
