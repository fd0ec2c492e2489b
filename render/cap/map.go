package cap

import (
	"math"
	"slices"

	"gonum.org/v1/plot/vg"

	"calotte/render/paper"
	"calotte/render/scalp"
	"calotte/topo/measure"
)

// picture is the drawing of a cap's sites about the origin.
type picture struct {
	frame    scalp.Frame
	ideal    []vg.Point
	marks    []mark
	links    [][2]int
	radius   vg.Length // of a plain filled mark
	enlarged float64
	swapped  bool // marks are at their true places and not joined to others
}

// A mark is an electrode on the page: from where it belongs to where it sits.
type mark struct {
	electrode
	from, to vg.Point
}

// enlargements are the factors by which ways are drawn longer, the largest
// first.
var enlargements = []float64{3, 2}

const (
	// visibleWay is how long on the page the usual way should become, and
	// longWay the same where few electrodes leave room. usualWay, in mm, is
	// what is usual at least: a cap in place must look it.
	visibleWay = 13 * vg.Length(1)
	longWay    = 20 * vg.Length(1)
	usualWay   = 5.
	// farthestWay is the share of the map's half-axis that no way exceeds
	// by being enlarged, and ofSpacing the share of the distance between
	// neighbours that the usual way may not exceed.
	farthestWay, ofSpacing = .3, .75
)

// newCapMap projects the sites. Enlarged is the factor, or zero to choose it.
func (s sites) newCapMap(at scalp.Frame, swapped bool, enlarged float64) picture {
	m := picture{frame: at, links: s.links, swapped: swapped, enlarged: enlarged}
	for _, i := range s.ideal {
		m.ideal = append(m.ideal, at.Project(i.Position))
	}
	var ways []float64
	longest := 0.
	for _, e := range s.electrodes {
		mark := mark{electrode: e, from: at.Project(e.home), to: at.Project(e.seat)}
		m.marks = append(m.marks, mark)
		way := distance(mark.from, mark.to)
		ways = append(ways, float64(way))
		longest = max(longest, float64(way))
	}
	spacing := m.spacing()
	m.radius = min(max(.13*spacing, .5), 1.5)
	if m.enlarged == 0 {
		usual := vg.Length(max(measure.Median(ways), usualWay/s.radius/at.View.EdgeFront*float64(at.Front)))
		m.enlarged = 1
		if !swapped {
			most := min(max(visibleWay, ofSpacing/2*spacing), longWay, ofSpacing*spacing)
			m.enlarged = enlargement(float64(most/usual),
				float64(farthestWay*min(at.Right, at.Front))/longest)
		}
	}
	for i := range m.marks {
		k := &m.marks[i]
		k.to = k.from.Add(k.to.Sub(k.from).Scale(vg.Length(m.enlarged)))
	}
	return m
}

// enlargement is the largest factor that exceeds none of the limits, else 1.
func enlargement(limits ...float64) float64 {
	for _, k := range enlargements {
		if k <= slices.Min(limits) {
			return k
		}
	}
	return 1
}

// spacing is the median distance from where an electrode belongs to where the
// next one does.
func (m picture) spacing() vg.Length {
	nearest := make([]float64, len(m.marks))
	for i, p := range m.marks {
		nearest[i] = 4 * float64(m.frame.Right) // of a single one
		for j, q := range m.marks {
			if i != j {
				nearest[i] = min(nearest[i], float64(distance(p.from, q.from)))
			}
		}
	}
	return vg.Length(measure.Median(nearest))
}

func distance(p, q vg.Point) vg.Length {
	return vg.Length(math.Hypot(float64(p.X-q.X), float64(p.Y-q.Y)))
}

// beyond is how far marks reach out of the rectangle around the head's outline,
// to the right and left together, up and down.
func (m picture) beyond() (side, up, down vg.Length) {
	f := m.frame
	for _, k := range m.marks {
		reach := m.markRadius(k.electrode) + .5
		side = max(side, k.to.X+reach-f.Right, -f.Right-k.to.X+reach)
		up = max(up, k.to.Y+reach-f.Front*(1+scalp.NoseHeight))
		down = max(down, -f.Front-k.to.Y+reach)
	}
	return side, up, down
}

// rim is how far marks reach over the map's edge, along the way from the
// middle.
func (m picture) rim() vg.Length {
	reach := vg.Length(0)
	for _, k := range m.marks {
		away := math.Hypot(float64(k.to.X/m.frame.Right), float64(k.to.Y/m.frame.Front))
		reach = max(reach, vg.Length(away-1)*max(m.frame.Right, m.frame.Front)+m.markRadius(k.electrode))
	}
	return reach
}

// markRadius is larger for an electrode that has to be seen.
func (m picture) markRadius(e electrode) vg.Length {
	if e.marked() {
		return 1.5 * m.radius
	}
	return m.radius
}

// ringSize is the radius of an open circle, which shows around a plain mark in
// it.
func (m picture) ringSize() vg.Length { return 1.7*m.radius + .3 }

// millimetres along the scalp are one millimetre of the page, in the mean of
// midline and coronal line.
func (m picture) millimetres(radius float64) float64 {
	f := m.frame
	return radius * (f.View.EdgeFront/float64(f.Front/paper.MM) + f.View.EdgeSide/float64(f.Right/paper.MM)) / 2
}
