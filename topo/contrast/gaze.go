package contrast

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"calotte/layout"
	"calotte/topo/erp/average"
	"calotte/topo/inference"
	"calotte/topo/unit"
)

// A Carried is what looks sideways put into a difference between sides: the
// sideways signal times by how much more the right side follows it than the
// left, see [average.Gaze].
type Carried struct {
	Source  string  // what shows the looks
	StandIn bool    // it is two sites, in whose signal the brain's is as well
	Own     bool    // the pair is these sites: how much of it is the eyes cannot be told
	Signal  float64 // mean sideways signal, µV
	Amount  float64 // µV of the difference
	// Low and High are the ends of a 95 % interval: over people by t, of one
	// person by the error of the signal alone. They are NaN where that is
	// not known. They say whether something is carried, not how much: noise
	// in the signal takes off the weight, so that the amount is a lower
	// bound: by 23 % (an eye channel) and 36 % (F8 minus F7) in recordings
	// whose noise is white, of which 61 and 17 of 100 intervals held what
	// was planted.
	Low, High float64
}

// carried adds to the pairs of a latency what looks sideways put into them,
// where that is known of all people behind the average.
func carried(rows []Asymmetry, of Sample, pairs []SidePair, at unit.Latency) error {
	people := []*average.Average{of.Average}
	if of.Over() == overPeople {
		if people = of.Units; len(people) < 2 {
			return nil
		}
	}
	for k, p := range pairs {
		var amounts, signals []float64
		var c Carried
		half := math.NaN()
		for _, a := range people {
			weight, known := sideWeight(a, p)
			signal, sem, ok := a.GazeAt(at)
			if !known || !ok {
				break
			}
			c.Source, c.StandIn = a.Info.Gaze.Source, c.StandIn || a.Info.Gaze.StandIn
			amounts, signals = append(amounts, weight*signal), append(signals, signal)
			half = math.Abs(weight) * sem * halfInterval(max(2, epochsOf(a.Info)))
		}
		if len(amounts) < len(people) {
			continue
		}
		c.Own = c.StandIn && isStandIn(c.Source, p)
		c.Signal, c.Amount = stat.Mean(signals, nil), stat.Mean(amounts, nil)
		c.Low, c.High = c.Amount-half, c.Amount+half
		if of.Over() == overPeople {
			var err error
			if c.Low, c.High, err = inference.TInterval(amounts, .95); err != nil {
				return err
			}
		}
		rows[k].Gaze = &c
	}
	return nil
}

// sideWeight is by how much more the right side of a pair follows the sideways
// signal than the left; false: it is not known.
func sideWeight(a *average.Average, p SidePair) (float64, bool) {
	if a.Info.Gaze == nil {
		return 0, false
	}
	weights := make([]float64, len(a.Sites))
	for _, i := range slices.Concat(p.Left.Rows, p.Right.Rows) {
		var known bool
		if weights[i], known = a.Info.Gaze.Weights[a.Sites[i]]; !known {
			return 0, false
		}
	}
	left, right := p.of(weights)
	return right - left, true
}

// isStandIn reports whether a pair is the two sites that stand in for the eyes.
func isStandIn(source string, p SidePair) bool {
	name := func(written string) string {
		if n, err := layout.Parse(written); err == nil {
			return string(n)
		}
		return written
	}
	return source == fmt.Sprintf("%s minus %s", name(p.Right.Title), name(p.Left.Title))
}

// epochsOf is how many epochs an average of one person rests on, in a
// difference those of the smaller part; 0: not known.
func epochsOf(i average.Info) int {
	if i.Epochs != nil {
		return i.Epochs.Kept
	}
	fewest := 0
	for _, m := range i.Members {
		if fewest == 0 || m.Epochs < fewest {
			fewest = m.Epochs
		}
	}
	return fewest
}

// gazeShare is the share of a difference from which on what gaze may have put
// into it is spoken of. The choice is ours.
const gazeShare = 0.5

// gazeWords say when looks sideways could carry a difference: both it and what
// they carry are shown to be there, their intervals being without zero and on
// one side of it, and that of what they carry reaches half of the difference.
// They are empty where they could not. Without the second demand they would
// speak of three in four differences of single people of the demo, who do not
// look sideways, since what two sites show is never zero.
func (a Asymmetry) gazeWords() string {
	g := a.Gaze
	if g == nil || a.holdsZero() || a.Difference == 0 {
		return ""
	}
	if g.Own {
		return "These are the sites that stand in for eye channels: how much of it is a look sideways cannot " +
			"be told here."
	}
	near, far := g.Low, g.High
	if a.Difference < 0 {
		near, far = -g.High, -g.Low
	}
	if !(near > 0 && far >= gazeShare*math.Abs(a.Difference)) {
		return ""
	}
	text := fmt.Sprintf("Looks sideways could carry this: %s is %s µV off zero here, and of that %s µV or more "+
		"reach this pair.", g.Source, Signed(g.Signal), Signed(g.Amount))
	if g.StandIn {
		text += " These sites stand in for eye channels and see the brain as well."
	}
	return text
}
