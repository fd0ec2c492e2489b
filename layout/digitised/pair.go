package digitised

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout/internal/geometry"
)

// DigitisePair digitises two sets of points for [Compare]: as [Digitise] does,
// but in one frame. Digitise puts the origin where a set's own sites say, so
// that a set which lacks some of them is moved, by millimetres, against the
// other.
//
// Here the centre is fitted to the sites that both have, in each set, and the
// mean of the two is the origin of both. Where both sets have nasion, LPA and
// RPA, the second is brought onto the first by the landmarks that both have.
// Positions that this package wrote stay as they are, and the other set is
// brought onto them. Without landmarks each set keeps its own axes, and the
// centres coincide.
//
// The options are for both sets. The results' Radius, Fitted and RMS are of the
// shared sites. An error says which set it is about.
func DigitisePair(a, b Points, ca, cb Coordinates, o Options) (Layout, Layout, error) {
	failed := func(which string, err error) (Layout, Layout, error) {
		return Layout{}, Layout{}, fmt.Errorf("the %s set of points: %w", which, err)
	}
	first, err := newDigitiser(a, ca, o)
	if err != nil {
		return failed("first", err)
	}
	second, err := newDigitiser(b, cb, o)
	if err != nil {
		return failed("second", err)
	}
	shareSites(first, second)
	shareLandmarks(first, second)
	if err := first.run(first.align, first.checkOrder); err != nil {
		return failed("first", err)
	}
	if err := second.run(second.align, second.checkOrder); err != nil {
		return failed("second", err)
	}
	join(first, second)
	if err := first.moveInwards(); err != nil {
		return failed("first", err)
	}
	if err := second.moveInwards(); err != nil {
		return failed("second", err)
	}
	first.warnSides()
	second.warnSides()
	return first.Layout, second.Layout, nil
}

// shareSites lets both fit their centre to the sites that both have.
func shareSites(a, b *digitiser) {
	shared := map[string]bool{}
	for _, pair := range Match(a.Sites, b.Sites).Both {
		shared[spelling(a.Sites[pair[0]].Name)] = true
	}
	a.shared, b.shared = shared, shared
}

// shareLandmarks leaves the inion out where one set lacks it: it changes the
// axes that the other landmarks give.
func shareLandmarks(a, b *digitiser) {
	if a.placed() || b.placed() || !complete(a.Landmarks) || !complete(b.Landmarks) {
		return
	}
	_, inA := a.Landmarks["Iz"]
	_, inB := b.Landmarks["Iz"]
	if inA != inB {
		delete(a.Landmarks, "Iz")
		delete(b.Landmarks, "Iz")
	}
}

// join brings two aligned sets into one frame with one centre.
func join(a, b *digitiser) {
	if a.placed() && b.placed() {
		return
	}
	if b.placed() {
		a, b = b, a
	}
	var centre r3.Vec // of b, in the frame of a
	if complete(a.Landmarks) && complete(b.Landmarks) {
		var from, to []r3.Vec
		for _, n := range landmarkOrder {
			p, inA := a.Landmarks[n]
			q, inB := b.Landmarks[n]
			if inA && inB {
				from, to = append(from, q), append(to, p)
			}
		}
		if m, ok := geometry.BestMotion(from, to); ok {
			b.follows(m)
			centre = m.Shift
		}
	}
	var origin r3.Vec
	switch {
	case a.placed() || b.Fitted == 0:
		return
	case a.Fitted == 0:
		origin = centre
	default:
		origin = r3.Scale(0.5, centre)
	}
	a.move(origin)
	b.move(origin)
}

// follows moves everything by a motion.
func (d *digitiser) follows(m geometry.Motion) {
	for i, s := range d.Sites {
		d.Sites[i].Position = m.Apply(s.Position)
	}
	for n, p := range d.Landmarks {
		d.Landmarks[n] = m.Apply(p)
	}
}
