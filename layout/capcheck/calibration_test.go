package capcheck

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
)

// tapeSets are what a technician may have laid, from the fewest to all.
// One or two angles alone cannot be both moved where they are 3 errors and be
// moved wrongly less than once in a hundred: for them it is twice.
var tapeSets = []struct {
	name  string
	ends  [][2]layout.Name
	worse float64 // share of the moves, at most
}{
	{"midline", cheapTapes[:2], .02},
	{"ring", cheapTapes[:4], .01},
	{"ring and one ear to Fpz", cheapTapes[:5], .01},
	{"ring and ears to Fpz", cheapTapes[:6], .01},
	{"ring and ears to Fpz and Oz", cheapTapes[:], .01},
	{"ears to Fpz and Oz", cheapTapes[4:], .02},
}

// A tally counts what advice did to caps whose turn is known.
type tally struct {
	caps, keptUnseen          int
	known, covered            [3]int
	moves, worse              int // of single moves
	moved, farther            int // of caps, all moves done
	turned, advised           int // caps whose visible turn is more than 3 of its errors
	turnedAngle, advisedAngle int // caps with such an angle
}

// Caps that are turned by 5 mm about each axis, readings with errors of 2 mm:
// the stated errors cover as often as they should, the moves take the cap
// nearer, and few caps that are off are left alone. Sites are turned and
// distances found on the sphere by their own formulas.
func TestTapeAdviceIsCalibrated(t *testing.T) {
	const runs, radius = 1000, 90.0
	model := head.Sphere(radius)
	for number, set := range tapeSets {
		rng := rand.New(rand.NewPCG(18, uint64(number)))
		var sum tally
		for range runs {
			pose := r3.Scale(5/radius,
				r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()})
			var tapes []Tape
			for _, ends := range set.ends {
				line, err := newTapeLine(model, ends[0], ends[1])
				if err != nil {
					t.Fatal(err)
				}
				sat := r3.Rotate(line.to, r3.Norm(pose), pose)
				way := radius * math.Acos(r3.Dot(line.from, sat)/(radius*radius))
				tapes = append(tapes, Tape{ends[0], ends[1], way + 2*rng.NormFloat64()})
			}
			c, err := CheckTapes(model, tapes, Options{})
			if err != nil {
				t.Fatal(err)
			}
			sum.add(c, pose, radius)
		}
		t.Logf("%s: %+v", set.name, sum)
		sum.judge(t, set.name, set.worse)
	}
}

func (s *tally) add(c Check, pose r3.Vec, radius float64) {
	s.caps++
	true3 := [3]float64{pose.X, pose.Y, pose.Z}
	var visible, move r3.Vec
	axes := [3]*float64{&visible.X, &visible.Y, &visible.Z}
	moves := [3]*float64{&move.X, &move.Y, &move.Z}
	surelyTurned := false
	for i, a := range [3]Angle{c.Turn.Pitch, c.Turn.Roll, c.Turn.Yaw} {
		if !a.Known {
			continue
		}
		*axes[i] = true3[i]
		degrees := true3[i] * 180 / math.Pi
		s.known[i]++
		if math.Abs(a.Degrees-degrees) < 1.96*a.Error {
			s.covered[i]++
		}
		surelyTurned = surelyTurned || math.Abs(degrees) > 3*a.Error
	}
	for _, a := range c.Advice {
		axis, sign := 0, 1.0
		switch {
		case a.Action == Keep && len(c.Turn.unseen()) > 0:
			s.keptUnseen++
			continue
		case a.Action == LowerCap || a.Action == LiftCap:
			s.moves++ // the caps are not too high
			s.worse++
			continue
		case a.Action != SlideCap && a.Action != TurnCap:
			continue
		case a.Action == TurnCap:
			axis = 2
		case a.Direction == ToLeft || a.Direction == ToRight:
			axis = 1
		}
		if a.Direction == Backward || a.Direction == ToRight && axis == 1 ||
			a.Direction == ToLeft && axis == 2 {
			sign = -1
		}
		*moves[axis] = sign * a.Amount / radius
		s.moves++
		if math.Abs(true3[axis]-*moves[axis]) >= math.Abs(true3[axis]) {
			s.worse++
		}
	}
	advised := move != r3.Vec{}
	if advised {
		s.moved++
		if r3.Norm(r3.Sub(pose, move)) >= r3.Norm(pose) {
			s.farther++
		}
	}
	if surelyTurned {
		s.turnedAngle++
		if advised {
			s.advisedAngle++
		}
	}
	if size := r3.Norm(visible); size > 3*c.errorAlong(visible) {
		s.turned++
		if advised {
			s.advised++
		}
	}
}

// errorAlong is the standard error of the turn in a direction, in radians.
func (c *Check) errorAlong(direction r3.Vec) float64 {
	u := r3.Unit(direction)
	v, sum := [3]float64{u.X, u.Y, u.Z}, 0.0
	for i := range v {
		for j := range v {
			sum += v[i] * c.Covariance[i][j] * v[j]
		}
	}
	return math.Sqrt(sum)
}

func (s *tally) judge(t *testing.T, name string, worse float64) {
	for i, known := range s.known {
		if known != 0 && known != s.caps {
			t.Errorf("%s: angle %d is seen in %d of %d caps by the same tapes", name, i, known, s.caps)
		}
		if share := float64(s.covered[i]) / float64(known); known > 0 && (share < .93 || share > .97) {
			t.Errorf("%s: angle %d is covered in %.1f %%", name, i, 100*share)
		}
	}
	if s.keptUnseen > 0 {
		t.Errorf("%s: %d caps are left as they are although a turn is not seen", name, s.keptUnseen)
	}
	if float64(s.worse) >= worse*float64(s.moves) || float64(s.farther) >= worse*float64(s.moved) {
		t.Errorf("%s: %d of %d moves, and %d of %d caps moved, are worse", name, s.worse, s.moves, s.farther,
			s.moved)
	}
	if s.advised*100 < 95*s.turned || s.advisedAngle*100 < 95*s.turnedAngle {
		t.Errorf("%s: %d of %d turned caps are moved, %d of %d with a turned angle", name, s.advised, s.turned,
			s.advisedAngle, s.turnedAngle)
	}
}
