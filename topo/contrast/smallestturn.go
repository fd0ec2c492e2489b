package contrast

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/topo"
)

const (
	// turnReach is how far, in mm at the ring, a turn is looked for. Beyond
	// it what the spline reads at turned places is no longer reliable.
	turnReach = 15.
	turnSteps = 10 // spheres of turns that are looked at, up to the reach
	// turnWays is how many directions are looked at on each: no turn is
	// more than some 12° from the nearest.
	turnWays = 120
	// turnApart is the least angle, in radians, between two of them that
	// are followed to the smallest turn nearby.
	turnApart = math.Pi / 4
)

// A turnSearch looks for the smallest turn by which a reading changes as
// wanted.
type turnSearch struct {
	spline       *topo.Spline
	coefficients *topo.Coefficients // of one latency
	reading      Reading
	unturned     float64   // what is read where the cap belongs
	grid         []float64 // the changes at the turns of turnGrid
}

func newTurnSearch(spline *topo.Spline, c *topo.Coefficients, r Reading) *turnSearch {
	s := &turnSearch{spline: spline, coefficients: c, reading: r}
	s.unturned = s.changes([]r3.Vec{{}})[0]
	s.grid = s.changes(turnGrid(turnReach / spline.Radius()))
	return s
}

func (s *turnSearch) changes(turns []r3.Vec) []float64 {
	moves := make([]func(r3.Vec) r3.Vec, len(turns))
	for i, t := range turns {
		moves[i] = Turned(t)
	}
	out := s.reading.values(s.spline, s.coefficients, moves).RawMatrix().Data
	for i := range out {
		out[i] -= s.unturned
	}
	return out
}

// turnGrid is spheres of turns up to a reach in radians, from the inside to the
// outside, each with the same directions, evenly spread on a spiral.
func turnGrid(reach float64) []r3.Vec {
	ways := make([]r3.Vec, turnWays)
	for i := range ways {
		z := 1 - (2*float64(i)+1)/turnWays
		sin, cos := math.Sincos(math.Pi * (3 - math.Sqrt(5)) * float64(i)) // the golden angle
		ring := math.Sqrt(1 - z*z)
		ways[i] = r3.Vec{X: ring * cos, Y: ring * sin, Z: z}
	}
	var grid []r3.Vec
	for step := 1; step <= turnSteps; step++ {
		for _, w := range ways {
			grid = append(grid, r3.Scale(reach*float64(step)/turnSteps, w))
		}
	}
	return grid
}

// smallest is the turn of least angle, in radians, by which the reading changes
// by a wanted amount in µV; false where none is within reach.
func (s *turnSearch) smallest(wanted float64) (r3.Vec, bool) {
	if wanted == 0 || math.IsNaN(wanted) {
		return r3.Vec{}, false
	}
	grid := turnGrid(turnReach / s.spline.Radius())
	best, found := r3.Vec{}, false
	for _, start := range s.starts(grid, wanted) {
		if turn := s.descend(start, wanted); !found || r3.Norm(turn) < r3.Norm(best) {
			best, found = turn, true
		}
	}
	return best, found
}

// starts are turns of the innermost sphere on which the reading changes by more
// than wanted: where it changes most, and others that are far from these.
func (s *turnSearch) starts(grid []r3.Vec, wanted float64) []r3.Vec {
	for step := range turnSteps {
		var beyond []int
		for i := step * turnWays; i < (step+1)*turnWays; i++ {
			if s.grid[i]/wanted >= 1 {
				beyond = append(beyond, i)
			}
		}
		if len(beyond) == 0 {
			continue
		}
		slices.SortStableFunc(beyond,
			func(i, j int) int { return cmp.Compare(s.grid[j]/wanted, s.grid[i]/wanted) })
		var out []r3.Vec
		for _, i := range beyond {
			near := func(t r3.Vec) bool { return r3.Cos(t, grid[i]) > math.Cos(turnApart) }
			if !slices.ContainsFunc(out, near) {
				out = append(out, grid[i])
			}
		}
		return out
	}
	return nil
}

// descend follows a turn that changes the reading by more than wanted to the
// smallest one nearby that changes it by as much. There the turn points along
// the gradient of the change, so this is where it goes, by a smaller part of
// the way while the turn would grow.
func (s *turnSearch) descend(turn r3.Vec, wanted float64) r3.Vec {
	const least, most = 1e-4, 60 // radians between two directions; rounds
	turn = s.shortened(turn, wanted)
	for range most {
		uphill := r3.Scale(math.Copysign(1, wanted), s.gradient(turn))
		if r3.Dot(uphill, turn) <= 0 {
			return turn
		}
		way, aim := r3.Unit(turn), r3.Unit(uphill)
		for {
			if r3.Norm(r3.Sub(aim, way)) < least {
				return turn
			}
			// as long as the turn is now, it must do more than
			// wanted
			tried := r3.Scale(r3.Norm(turn), aim)
			if s.changes([]r3.Vec{tried})[0]/wanted > 1 {
				turn = s.shortened(tried, wanted)
				break
			}
			aim = r3.Unit(r3.Add(way, aim))
		}
	}
	return turn
}

// gradient is that of the change, in µV per radian about each axis.
func (s *turnSearch) gradient(turn r3.Vec) r3.Vec {
	const h = 1e-4
	var around []r3.Vec
	for _, axis := range [...]r3.Vec{{X: h}, {Y: h}, {Z: h}} {
		around = append(around, r3.Add(turn, axis), r3.Sub(turn, axis))
	}
	c := s.changes(around)
	return r3.Scale(1/(2*h), r3.Vec{X: c[0] - c[1], Y: c[2] - c[3], Z: c[4] - c[5]})
}

// shortened is the turn in the same direction that changes the reading by as
// much as wanted, of one that changes it by more: by regula falsi, in which an
// end that stays counts half (Dowell and Jarratt 1971, BIT 11:168).
func (s *turnSearch) shortened(turn r3.Vec, wanted float64) r3.Vec {
	const close, most = 1e-10, 100 // of what is wanted; rounds
	low, high := 0., 1.
	below, above := -1., s.changes([]r3.Vec{turn})[0]/wanted-1
	last := 0.
	for range most {
		at := low + (high-low)*below/(below-above)
		beyond := s.changes([]r3.Vec{r3.Scale(at, turn)})[0]/wanted - 1
		switch {
		case math.Abs(beyond) <= close:
			return r3.Scale(at, turn)
		case beyond > 0:
			high, above = at, beyond
			if last > 0 {
				below /= 2
			}
		default:
			low, below = at, beyond
			if last < 0 {
				above /= 2
			}
		}
		last = beyond
	}
	return r3.Scale(high, turn)
}
