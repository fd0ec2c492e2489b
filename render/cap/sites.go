package cap

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/capcheck"
	"calotte/layout/head"
)

// sites are the directions that the figure of a cap shows.
type sites struct {
	ideal      []layout.Site // open circles
	electrodes []electrode
	links      [][2]int // exchanged electrodes
	radius     float64  // mean, mm
}

// An electrode is measured, or an edge of a cap that tapes were laid to.
type electrode struct {
	name string
	// home is where it belongs, seat where it is. An exchanged electrode's
	// home is its partner's, so that the way between is the cap's and not
	// the exchange.
	home, seat r3.Vec
	along      float64 // from where it belongs by its name, mm
	beyond     bool    // the limit
	exchanged  bool
}

func (e electrode) marked() bool { return e.beyond || e.exchanged }

// locate finds the places of ideal and measured sites.
func (c *Cap) locate() (sites, error) {
	if len(c.Check.Sites) == 0 {
		return c.locateEdges()
	}
	s := sites{ideal: c.Ideal}
	places := map[string]r3.Vec{}
	for _, i := range c.Ideal {
		key := siteKey(i.Name)
		if _, twice := places[key]; twice {
			return s, fmt.Errorf("ideal site %q is given twice: keep one of the two", i.Name)
		}
		places[key] = i.Position
		s.radius += r3.Norm(i.Position) / float64(len(c.Ideal))
	}
	index := map[string]int{}
	for i, m := range c.Check.Sites {
		home, ok := places[siteKey(m.Name)]
		if !ok {
			return s, fmt.Errorf("site %q of the check has no ideal place: give the ideal sites that "+
				"the cap was "+
				"checked against", m.Name)
		}
		index[m.Name] = i
		s.electrodes = append(s.electrodes, electrode{
			name: m.Name, home: home, seat: displaced(home, m.Off), along: m.Along,
			beyond: slices.Contains(c.Check.Beyond, m.Name),
		})
	}
	if c.Check.Swap != capcheck.NoSwap {
		return s, nil
	}
	for _, x := range c.Check.Exchanges {
		i, ok := index[x.Sites[0]]
		j, both := index[x.Sites[1]]
		if !ok || !both || s.electrodes[i].exchanged || s.electrodes[j].exchanged || i == j {
			return s, fmt.Errorf("exchanged sites %q and %q: expected two of the check's sites, each "+
				"exchanged once",
				x.Sites[0], x.Sites[1])
		}
		a, b := &s.electrodes[i], &s.electrodes[j]
		a.home, b.home = b.home, a.home
		a.exchanged, b.exchanged = true, true
		s.links = append(s.links, [2]int{i, j})
	}
	return s, nil
}

// ringSites are the ideal places drawn where tapes tell of no others.
var ringSites = []layout.Name{
	"Fp1", "Fpz", "Fp2", "F7", "F8", "T7", "Cz", "T8", "P7", "P8", "O1", "Oz", "O2",
}

// locateEdges draws what tapes tell: where the turn, and the common height,
// take the cap's edges and its vertex.
func (c *Cap) locateEdges() (sites, error) {
	model := c.Head
	if model == (head.Ellipsoid{}) {
		model = head.Sphere(c.Check.Edges[0].Radius)
	}
	placed, err := layout.Place(model, ringSites)
	if err != nil {
		return sites{}, fmt.Errorf("the ring of the cap: %w", err)
	}
	s := sites{ideal: c.Ideal}
	if len(s.ideal) == 0 {
		s.ideal = layout.Sites(placed)
	}
	places := map[string]r3.Vec{}
	for _, site := range append(layout.Sites(placed), c.Ideal...) {
		places[siteKey(site.Name)] = site.Position
	}
	for _, e := range c.Check.Edges {
		home, ok := places[siteKey(string(e.Site))]
		if !ok {
			return s, fmt.Errorf("edge %q: expected Cz, Fpz, Oz, T7 or T8", e.Site)
		}
		home = r3.Scale(e.Radius/r3.Norm(home), home)
		seat := r3.Add(home, e.Off)
		if e.Site != "Cz" {
			seat = displaced(seat, r3.Scale(c.Check.Height, toVertex(seat)))
		}
		s.electrodes = append(s.electrodes, electrode{
			name: string(e.Site), home: home, seat: seat, along: e.Along,
			beyond: slices.ContainsFunc(c.Check.Tapes, func(t capcheck.Reading) bool {
				return t.To == e.Site && slices.Contains(c.Check.Beyond, t.String())
			}),
		})
		s.radius += e.Radius / float64(len(c.Check.Edges))
	}
	return s, nil
}

// displaced is the point that a way along the scalp leads to, off millimetres
// from p in the tangent direction of off.
func displaced(p, off r3.Vec) r3.Vec {
	way := r3.Norm(off)
	if way == 0 {
		return p
	}
	radius := r3.Norm(p)
	sin, cos := math.Sincos(way / radius)
	return r3.Add(r3.Scale(cos, p), r3.Scale(radius*sin/way, off))
}

// toVertex is the unit tangent at p that points straight up the head.
func toVertex(p r3.Vec) r3.Vec {
	out := r3.Unit(p)
	up := r3.Sub(r3.Vec{Z: 1}, r3.Scale(out.Z, out))
	if r3.Norm(up) < 1e-9 {
		return r3.Vec{}
	}
	return r3.Unit(up)
}

// siteKey is the same for two texts that name the same site.
func siteKey(name string) string {
	if n, err := layout.Parse(name); err == nil {
		return string(n)
	}
	return strings.ToLower(strings.TrimSpace(name))
}
