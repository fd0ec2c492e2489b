package main

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"calotte/cmd/internal/fields"
	"calotte/layout"
	"calotte/layout/capcheck"
	"calotte/topo/contrast"
	"calotte/topo/unit"
)

// effectFlag says what placement must not make: an amplitude, or more than the
// noise.
type effectFlag struct {
	contrast.PlacementNeed
	asked string // as it was given; empty: not at all
}

// noise stands for the error of sampling.
const noise = "noise"

func (e *effectFlag) Set(text string) error {
	var size unit.Voltage
	if text != noise {
		if err := size.Set(text); err != nil {
			return fmt.Errorf("%w, or %s", err, noise)
		}
		if size <= 0 {
			return errors.New("expected more than 0, such as 1uV")
		}
	}
	e.Effect, e.asked = float64(size), text
	return nil
}

func (e *effectFlag) String() string { return e.asked }

func (e *effectFlag) Type() string { return "amplitude" }

// A neededPlacement is how well caps must sit for what is asked of a pair, and
// the tape readings that tell a cap so well.
type neededPlacement struct {
	limit       float64 // of the error, sd, µV
	millimetres float64 // at the ring, sd about each axis; NaN: over 15 mm
	degrees     float64
	plan        capcheck.TapePlan
}

// needs are those of the pairs of one average, of which was found what stands
// latency by latency.
func (e *effectFlag) needs(f *fields.Fields, index int, pairs []contrast.SidePair,
	found []contrast.Asymmetry) ([]neededPlacement, error) {
	avg := f.Averages[index]
	spline, err := f.Spline(avg)
	if err != nil {
		return nil, err
	}
	sites := spline.Sites()
	var out []neededPlacement
	for i, a := range found {
		n := neededPlacement{limit: e.Limit(a)}
		if math.IsNaN(n.limit) {
			return nil, fmt.Errorf("the noise is not known: give a size, such as --effect 1uV, or " +
				"average with " +
				"--save-epochs")
		}
		typical, err := contrast.NewTypicalMap(spline, avg, a.At)
		if err != nil {
			return nil, err
		}
		reading := pairs[i%len(pairs)].Reading(sites)
		if n.millimetres, err = typical.Farthest(reading, n.limit); err != nil {
			return nil, err
		}
		n.degrees = n.millimetres / spline.Radius() * 180 / math.Pi
		n.plan, err = capcheck.FewestTapes(f.Head.Surface, n.limit,
			func(c layout.PoseCovariance) (float64, error) { return typical.PlacementError(reading, c) })
		if err != nil {
			return nil, err
		}
		out = append(out, n)
	}
	return out, nil
}

// words say what a pair needs.
func (n neededPlacement) words(e effectFlag) string {
	within := "off by over 15 mm at the ring"
	if !math.IsNaN(n.millimetres) {
		within = fmt.Sprintf("off by at most %.1f mm at the ring, %.1f° (sd, about each axis)", n.millimetres,
			n.degrees)
	}
	text := fmt.Sprintf("For placement to change this by %s, caps may sit %s.", e.Words(), within)
	readings := strings.Join(n.plan.Tapes, ", ")
	switch {
	case n.plan.Error > n.limit:
		return text + fmt.Sprintf(" No tape tells so much: %s leave an error of %.2f µV (sd), and %.2f µV "+
			"is bearable; "+
			"digitise the electrodes.", readings, n.plan.Error, n.limit)
	case readings == "":
		return text + " A cap that nobody checked does (6° about each axis)."
	}
	return text + fmt.Sprintf(" Tape readings that tell it so well: %s (2 mm each; they leave %.2f µV (sd), and "+
		"%.2f µV is "+
		"bearable).", readings, n.plan.Error, n.limit)
}

// neededColumns are in the table where --effect is given.
var neededColumns = []string{"placement_needed_mm", "placement_needed_deg", "tapes_needed"}

func (n neededPlacement) cells() []string {
	tapes := "none"
	if n.plan.Error > n.limit {
		tapes = "n/a"
	} else if len(n.plan.Tapes) > 0 {
		tapes = strings.Join(n.plan.Tapes, ",")
	}
	if math.IsNaN(n.millimetres) {
		return []string{"n/a", "n/a", tapes}
	}
	return []string{decimals(n.millimetres, 2), decimals(n.degrees, 2), tapes}
}
