package digitised

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/internal/geometry"
)

// A SitePair is two sites that mirror each other, whatever their names.
type SitePair struct {
	Left, Right string
	Off         float64 // from the mirror image in x = 0 of one to the other, mm
}

// Symmetry sorts sites by their mirror images.
type Symmetry struct {
	Pairs    []SitePair // in the order of the left sites
	Midline  []string   // sites that are their own mirror image
	Unpaired []string   // sites whose mirror image has no site near it
}

// The plane is found anew where this many pairs tell it, and in so many rounds.
const (
	fewestMirrored = 8
	mirrorRounds   = 10
)

// GeometricPairs finds mirror pairs by position, for sites whose names say
// nothing. The mirror is the plane x = 0 of head coordinates. Two sites are a
// pair where each is the nearest to the other's mirror image, and no farther
// from it than the tolerance in mm; half the distance of neighbours, 15 mm for
// 64 electrodes, is a good one. A site nearest to its own image is on the
// midline.
//
// A cap that sits askew has its plane of symmetry off x = 0, by a centimetre at
// times, and nearest neighbours are the wrong ones then. Where there are 8
// pairs, the mirror that explains them best takes the plane's place, until the
// pairs stay the same; the tolerance counts from there. Off still says how
// unequal the two sites of a pair sit on the head.
func GeometricPairs(sites []layout.Site, tolerance float64) (Symmetry, error) {
	if err := CheckSites(sites); err != nil {
		return Symmetry{}, err
	}
	if !(tolerance > 0) {
		return Symmetry{}, fmt.Errorf("tolerance %g mm of mirror pairs: expected more than 0, such as 15 mm",
			tolerance)
	}
	partners := mirrorPartners(sites, leftRight)
	for range mirrorRounds {
		mirror, ok := capMirror(sites, partners)
		if !ok {
			break
		}
		partners = mirrorPartners(sites, mirror)
	}
	var found Symmetry
	for i, s := range sites {
		p := partners[i]
		switch {
		case partners[p.index].index != i || p.distance > tolerance:
			found.Unpaired = append(found.Unpaired, s.Name)
		case i == p.index:
			found.Midline = append(found.Midline, s.Name)
		case s.Position.X < sites[p.index].Position.X:
			other := sites[p.index]
			off := r3.Norm(r3.Sub(leftRight(s.Position), other.Position))
			found.Pairs = append(found.Pairs, SitePair{s.Name, other.Name, off})
		}
	}
	return found, nil
}

// MirrorTolerance is half the distance of neighbours, in mm: of a site's
// nearest one, in the median.
func MirrorTolerance(sites []layout.Site) float64 {
	nearest := make([]float64, len(sites))
	for i, s := range sites {
		nearest[i] = math.Inf(1)
		for j, t := range sites {
			if d := r3.Norm(r3.Sub(s.Position, t.Position)); i != j && d < nearest[i] {
				nearest[i] = d
			}
		}
	}
	slices.Sort(nearest)
	if len(nearest) < 2 {
		return 0
	}
	return nearest[len(nearest)/2] / 2
}

// leftRight mirrors a point in the plane x = 0.
func leftRight(p r3.Vec) r3.Vec { return r3.Vec{X: -p.X, Y: p.Y, Z: p.Z} }

// A partner is the site nearest to another's mirror image.
type partner struct {
	index    int
	distance float64 // mm
}

func mirrorPartners(sites []layout.Site, mirror func(r3.Vec) r3.Vec) []partner {
	partners := make([]partner, len(sites))
	for i, s := range sites {
		image := mirror(s.Position)
		best := partner{i, r3.Norm(r3.Sub(s.Position, image))}
		for j, t := range sites {
			if d := r3.Norm(r3.Sub(t.Position, image)); d < best.distance {
				best = partner{j, d}
			}
		}
		partners[i] = best
	}
	return partners
}

// capMirror is the reflection in a plane through the origin that brings mutual
// partners nearest to each other. Taking each pair both ways makes it its own
// inverse.
func capMirror(sites []layout.Site, partners []partner) (func(r3.Vec) r3.Vec, bool) {
	var from, to []r3.Vec
	pairs := 0
	for i, p := range partners {
		if partners[p.index].index != i {
			continue
		}
		from, to = append(from, sites[i].Position), append(to, sites[p.index].Position)
		if p.index > i {
			pairs++
		}
	}
	if pairs < fewestMirrored {
		return nil, false
	}
	q, ok := geometry.BestRotation(from, to, true)
	return func(p r3.Vec) r3.Vec { return q.MulVec(p) }, ok
}
