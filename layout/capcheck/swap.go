package capcheck

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout/internal/geometry"
)

// A Swap is how the sides of a whole cap are exchanged.
type Swap int

const (
	NoSwap      Swap = iota
	LeftRight        // left names are on the right side: labels, plugs or LPA and RPA
	FrontBack        // front names are at the back, left ones on the left
	BackToFront      // the cap is on the wrong way round
)

func (s Swap) String() string {
	switch s {
	case LeftRight:
		return "left and right exchanged"
	case FrontBack:
		return "front and back exchanged"
	case BackToFront:
		return "cap back to front"
	}
	return "none"
}

// MarshalText gives the words of String.
func (s Swap) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// apply moves an ideal place to where its electrode sits.
func (s Swap) apply(p r3.Vec) r3.Vec {
	switch s {
	case LeftRight:
		return r3.Vec{X: -p.X, Y: p.Y, Z: p.Z}
	case FrontBack:
		return r3.Vec{X: p.X, Y: -p.Y, Z: p.Z}
	case BackToFront:
		return r3.Vec{X: -p.X, Y: -p.Y, Z: p.Z}
	}
	return p
}

// A mirror image is believed where it leaves less than this share of the
// distances that the names as they are leave. Sites near one plane, such as the
// midline, fit both alike.
const mirrorShare = 0.5

// findSwap takes the swap that leaves the smallest turn, among those that
// explain the places.
func (f *capFit) findSwap() {
	from, to := f.directions()
	plain, ok := geometry.BestRotation(from, to, false)
	mirror, mirrorOK := geometry.BestRotation(from, to, true)
	if !ok || !mirrorOK {
		return
	}
	q, believed := plain, [2]Swap{NoSwap, BackToFront}
	if rest(mirror, from, to) < mirrorShare*rest(plain, from, to) {
		q, believed = mirror, [2]Swap{LeftRight, FrontBack}
	}
	f.swap = believed[0]
	if remainingTurn(q, believed[1]) < remainingTurn(q, believed[0]) {
		f.swap = believed[1]
	}
}

// rest is the root mean square of what a matrix leaves.
func rest(q *r3.Mat, from, to []r3.Vec) float64 {
	sum := 0.0
	for i, p := range from {
		sum += r3.Norm2(r3.Sub(to[i], q.MulVec(p)))
	}
	return math.Sqrt(sum / float64(len(from)))
}

// remainingTurn is the angle of Q without the swap, which is its own inverse.
func remainingTurn(q *r3.Mat, s Swap) float64 {
	trace := 0.0
	for _, e := range [...]r3.Vec{{X: 1}, {Y: 1}, {Z: 1}} {
		trace += r3.Dot(e, q.MulVec(s.apply(e)))
	}
	return math.Acos(max(-1, min(1, (trace-1)/2)))
}

// An Exchange is two electrodes that sit in each other's places. The distances
// are along the scalp, once the turn of the cap is undone.
type Exchange struct {
	Sites     [2]string `json:"sites"`
	AsNamed   float64   `json:"as_named"`  // how far the worse of the two is off, mm
	Exchanged float64   `json:"exchanged"` // the same if the names are exchanged, mm
}

// Electrodes are exchanged where both are farther off than this, in mm, and at
// least twice as far as in each other's places. Two neighbours of the 10-5
// system are some 15 mm apart, digitised points scatter by some 3 mm.
const leastExchange = 10

// findExchange puts right the exchange that gains most. It reports false where
// there is none.
func (f *capFit) findExchange() bool {
	distance := func(i, j int) float64 { return alongScalp(f.place(j), f.measured[i]) }
	var off []int
	for i := range f.names {
		if f.target[i] == i && distance(i, i) > leastExchange {
			off = append(off, i)
		}
	}
	var best Exchange
	var pair [2]int
	gain := 0.0
	for k, i := range off {
		for _, j := range off[k+1:] {
			named := [2]float64{distance(i, i), distance(j, j)}
			other := [2]float64{distance(i, j), distance(j, i)}
			if other[0] > named[0]/2 || other[1] > named[1]/2 {
				continue
			}
			if g := named[0]*named[0] + named[1]*named[1] - other[0]*other[0] - other[1]*other[1]; g >
				gain {
				gain, pair = g, [2]int{i, j}
				best = Exchange{
					Sites:     [2]string{f.names[i], f.names[j]},
					AsNamed:   max(named[0], named[1]),
					Exchanged: max(other[0], other[1]),
				}
			}
		}
	}
	if gain == 0 {
		return false
	}
	i, j := pair[0], pair[1]
	f.target[i], f.target[j] = j, i
	f.exchanges = append(f.exchanges, best)
	return true
}
