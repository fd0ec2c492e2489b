package contrast

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"
)

// A CapTurn is how a whole cap sits off its place: turned about the centre of
// the head. All is NaN where there is no such turn within 15 mm.
type CapTurn struct {
	Slide float64 // of the ring, farthest from the axis: the angle times the radius, mm
	// Degrees are the components of the rotation vector, as a cap check
	// gives them. They are no angles of turns that follow each other. X is
	// pitch: the vertex too far back; Y roll: the vertex too far right; Z
	// yaw: the front too far left.
	Degrees r3.Vec
}

var noTurn = CapTurn{math.NaN(), r3.Vec{X: math.NaN(), Y: math.NaN(), Z: math.NaN()}}

// Known reports whether there is one.
func (t CapTurn) Known() bool { return !math.IsNaN(t.Slide) }

// String is the slide: "8.5 mm", or "over 15 mm".
func (t CapTurn) String() string {
	if !t.Known() {
		return fmt.Sprintf("over %.0f mm", turnReach)
	}
	return fmt.Sprintf("%.1f mm", t.Slide)
}

// satTurned is how a cap sat whose reading would change by a wanted amount, in
// µV, were it read where the cap belongs. There it is read by the inverse of
// the turn.
func (s *turnSearch) satTurned(wanted float64) CapTurn {
	turn, ok := s.smallest(wanted)
	if !ok {
		return noTurn
	}
	return CapTurn{r3.Norm(turn) * s.spline.Radius(), r3.Scale(-180/math.Pi, turn)}
}

// turnShare is the least share of a turn whose direction is named.
const turnShare = .1

// Direction names the parts of a turn, the largest first: "3.6° of twist, front
// to the wearer's left, with 1.2 mm to the wearer's right". What slides is the
// vertex.
func (t CapTurn) Direction() string {
	size := r3.Norm(t.Degrees)
	type part struct {
		degrees, unit      float64 // unit: of what is told, in one degree
		positive, negative string
	}
	parts := []part{
		{t.Degrees.Z, 1, "%.1f° of twist, front to the wearer's left",
			"%.1f° of twist, front to the wearer's right"},
		{t.Degrees.Y, t.Slide / size, "%.1f mm to the wearer's right", "%.1f mm to the wearer's left"},
		{t.Degrees.X, t.Slide / size, "%.1f mm to the back", "%.1f mm to the front"},
	}
	var named []string
	slices.SortStableFunc(parts, func(a, b part) int {
		return cmp.Compare(math.Abs(b.degrees), math.Abs(a.degrees))
	})
	for _, p := range parts {
		if math.Abs(p.degrees) < turnShare*size {
			break
		}
		text := p.positive
		if p.degrees < 0 {
			text = p.negative
		}
		named = append(named, fmt.Sprintf(text, math.Abs(p.degrees)*p.unit))
	}
	text := named[0]
	if len(named) > 1 {
		text += ", with " + strings.Join(named[1:], " and ")
	}
	return text
}
