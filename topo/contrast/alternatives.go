package contrast

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"calotte/topo/inference"
)

// Alternatives are the same difference of the same people, taken in all ways
// that defensible choices allow (S. Steegen, F. Tuerlinckx, A. Gelman & W.
// Vanpaemel, "Increasing transparency through a multiverse analysis", Perspect
// Psychol Sci 11:702, 2016; from memory).
type Alternatives struct {
	Choices []Choice
	Scores  *mat.Dense // person × way, µV; ways count the options of the last choice fastest
	Test    inference.Options
}

// A Choice is what may be done in one way or another.
type Choice struct {
	Name    string
	Options []string
}

// Ways are how many there are of some choices.
func Ways(choices []Choice) int {
	n := 1
	for _, c := range choices {
		n *= len(c.Options)
	}
	return n
}

// Options are those of a way, by choice.
func Options(choices []Choice, way int) []int {
	out := make([]int, len(choices))
	for k := range slices.Backward(choices) {
		n := len(choices[k].Options)
		out[k], way = way%n, way/n
	}
	return out
}

// A WayFound is the difference in one way.
type WayFound struct {
	Way       int
	Options   []int // by choice
	Mean      float64
	Low, High float64 // 95 % by t
	P         float64 // by sign flips, of this way by itself
}

// AlternativesFound are the differences in all ways.
type AlternativesFound struct {
	People int
	Ways   []WayFound // the smallest mean first
	Joint  *inference.Joint
	// Moves is by how much each choice moves the mean, µV: between its
	// options, the others being averaged over, at the most.
	Moves []float64
}

// Run tests every way by itself, and all of them jointly.
func (a Alternatives) Run(ctx context.Context) (*AlternativesFound, error) {
	people, ways := a.Scores.Dims()
	if want := Ways(a.Choices); ways != want {
		return nil, fmt.Errorf("%d ways of choices that allow %d", ways, want)
	}
	design, err := inference.Paired(people)
	if err != nil {
		return nil, err
	}
	single, err := inference.TestLargest(ctx, design, a.Scores, a.Test)
	if err != nil {
		return nil, err
	}
	out := &AlternativesFound{People: people, Moves: make([]float64, len(a.Choices))}
	if out.Joint, err = inference.TestJoint(ctx, design, a.Scores, Alpha, a.Test); err != nil {
		return nil, err
	}
	for way := range ways {
		column := mat.Col(nil, way, a.Scores)
		f := WayFound{Way: way, Options: Options(a.Choices, way), Mean: stat.Mean(column, nil), P: single.P[way]}
		if f.Low, f.High, err = inference.TInterval(column, .95); err != nil {
			return nil, err
		}
		out.Ways = append(out.Ways, f)
	}
	for k, c := range a.Choices {
		low, high := math.Inf(1), math.Inf(-1)
		for o := range c.Options {
			sum, n := 0., 0
			for _, f := range out.Ways {
				if f.Options[k] == o {
					sum, n = sum+f.Mean, n+1
				}
			}
			low, high = min(low, sum/float64(n)), max(high, sum/float64(n))
		}
		out.Moves[k] = high - low
	}
	slices.SortStableFunc(out.Ways, func(a, b WayFound) int { return cmp.Compare(a.Mean, b.Mean) })
	return out, nil
}
