package contrast

import (
	"context"
	"fmt"
	"math"
	"slices"

	"calotte/topo/inference"
	"calotte/topo/measure"
)

// An Interaction is what was found of one score in a window at a place: the
// four cells of two factors, and how they differ.
type Interaction struct {
	Of      TwoFactors
	Window  measure.Window
	Place   string // a site or pool, or two with a minus between
	Score   string // one of [ScoreNames]
	Levels  [2][2]string
	Effects []Effect // eleven: cells, main and simple effects, the interaction
	People  []int    // with all cells, of each group
	LeftOut []string // "sub-03 (not in novel)"
}

// An Effect is the mean of a cell, or a difference. Its unit is that of the
// score: µV, s or µV·s.
type Effect struct {
	Kind string // "cell", "main", "simple" or "interaction"
	// Part is what of each factor: "P8", "mean of P8 and P7" or "P8 minus
	// P7"; then the same of the other.
	Part [2]string
	// Combination is over people. Differences within people are each
	// person's own, with p by sign flips, and differences between groups
	// have Welch's interval and p by exchange; cells are not tested. NaN:
	// too few people have all cells.
	inference.Combination
	People []int // of each group that it rests on
}

// A part is how the two levels of a factor count.
type part [2]float64

var (
	oneLevel   = part{1, 0}
	otherLevel = part{0, 1}
	bothLevels = part{.5, .5}
	difference = part{1, -1}
)

// effects are all that are told, of the first factor and the second.
var effects = [...]struct {
	kind          string
	first, second part
}{
	{"cell", oneLevel, oneLevel}, {"cell", oneLevel, otherLevel},
	{"cell", otherLevel, oneLevel}, {"cell", otherLevel, otherLevel},
	{"main", difference, bothLevels}, {"main", bothLevels, difference},
	{"simple", difference, oneLevel}, {"simple", difference, otherLevel},
	{"simple", oneLevel, difference}, {"simple", otherLevel, difference},
	{"interaction", difference, difference},
}

// words say a part of some levels.
func (p part) words(levels [2]string) string {
	switch p {
	case oneLevel:
		return levels[0]
	case otherLevel:
		return levels[1]
	case bothLevels:
		return "mean of " + levels[0] + " and " + levels[1]
	}
	return levels[0] + " minus " + levels[1]
}

// find adds the effects. Cells are group × person × cell.
func (x *Interaction) find(ctx context.Context, cells [][][]float64, o inference.Options) error {
	for _, e := range effects {
		// Of two groups the second factor weighs groups, else both weigh a
		// person's cells.
		inside, across := crossedParts(e.first, e.second), []float64{1}
		if len(cells) == 2 {
			inside, across = e.first[:], e.second[:]
		}
		found := Effect{Kind: e.kind, Part: [2]string{e.first.words(x.Levels[0]), e.second.words(x.Levels[1])}}
		groups := make([][]float64, len(cells))
		for g, people := range cells {
			for _, own := range people {
				groups[g] = append(groups[g], weighed(own, inside))
			}
			if across[g] != 0 {
				found.People = append(found.People, len(people))
			}
		}
		var err error
		switch {
		case slices.Min(x.People) < 2:
			found.Combination = unknownCombination()
		case e.kind == "cell":
			found.Combination, err = inference.Combine(groups, across)
		default:
			found.Combination, err = inference.TestCombination(ctx, groups, across, o)
		}
		if err != nil {
			return fmt.Errorf("%s at %s, %s: %w", x.Window.Name, x.Place, x.Score, err)
		}
		x.Effects = append(x.Effects, found)
	}
	return nil
}

// crossedParts are the weights of a person's four cells.
func crossedParts(first, second part) []float64 {
	return []float64{first[0] * second[0], first[0] * second[1], first[1] * second[0], first[1] * second[1]}
}

func weighed(values, weights []float64) float64 {
	sum := 0.
	for i, v := range values {
		sum += weights[i] * v
	}
	return sum
}

func unknownCombination() inference.Combination {
	nan := math.NaN()
	return inference.Combination{Value: nan, SE: nan, T: nan, Freedom: nan, Low: nan, High: nan, P: nan,
		Smallest: nan}
}

// Interaction is the difference of differences: (first − second level of one
// factor) at the first level of the other, minus that at its second.
func (x Interaction) Interaction() Effect { return x.Effects[len(x.Effects)-1] }

// cellTitle names a person's i-th cell.
func (x Interaction) cellTitle(i int) string {
	if x.Of.Second == ByGroups {
		return x.Levels[0][i]
	}
	return x.Levels[0][i/2] + ", " + x.Levels[1][i%2]
}
