package digitised

import (
	"cmp"
	"errors"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/internal/geometry"
)

// A Comparison says how far the sites of one layout are from those of another.
type Comparison struct {
	Sites        []SiteDistance // in both, the farthest first
	OnlyA, OnlyB []string       // names in one only, in its order
	Median, Max  float64        // of the distances along the scalp, mm
	RMS          float64        // of the same
}

// A SiteDistance is the way from a site of A to the same site of B.
type SiteDistance struct {
	Name     string  // as A writes it
	Along    float64 // along the scalp, at the mean of the two radii, mm
	Straight float64 // mm
	Radial   float64 // outwards, mm
}

// Compare measures the distances between two layouts in head coordinates. Sites
// are matched by name, however spelt. Digitised points come from
// [DigitisePair], which gives both the same centre.
func Compare(a, b []layout.Site) (Comparison, error) {
	for _, sites := range [2][]layout.Site{a, b} {
		if err := CheckSites(sites); err != nil {
			return Comparison{}, err
		}
	}
	m := Match(a, b)
	var c Comparison
	for _, i := range m.OnlyA {
		c.OnlyA = append(c.OnlyA, a[i].Name)
	}
	for _, i := range m.OnlyB {
		c.OnlyB = append(c.OnlyB, b[i].Name)
	}
	if len(m.Both) == 0 {
		return c, errors.New("the layouts have no site in common: check the names")
	}
	for _, pair := range m.Both {
		p, q := a[pair[0]].Position, b[pair[1]].Position
		c.Sites = append(c.Sites, SiteDistance{
			Name:     a[pair[0]].Name,
			Along:    (r3.Norm(p) + r3.Norm(q)) / 2 * geometry.AngleBetween(p, q),
			Straight: r3.Norm(r3.Sub(q, p)),
			Radial:   r3.Norm(q) - r3.Norm(p),
		})
	}
	slices.SortStableFunc(c.Sites, func(s, t SiteDistance) int { return cmp.Compare(t.Along, s.Along) })
	c.summarise()
	return c, nil
}

func (c *Comparison) summarise() {
	n := len(c.Sites)
	sum := 0.0
	for _, s := range c.Sites {
		sum += s.Along * s.Along
	}
	c.Max = c.Sites[0].Along
	c.Median = (c.Sites[(n-1)/2].Along + c.Sites[n/2].Along) / 2
	c.RMS = math.Sqrt(sum / float64(n))
}

// A Matching pairs the indices of two lists of sites.
type Matching struct {
	Both         [][2]int // in the order of the first
	OnlyA, OnlyB []int
}

// Match pairs the sites of two lists by name, however spelt.
func Match(a, b []layout.Site) Matching {
	at := make(map[string]int, len(b))
	for j, s := range b {
		at[spelling(s.Name)] = j
	}
	var m Matching
	matched := make([]bool, len(b))
	for i, s := range a {
		j, ok := at[spelling(s.Name)]
		if !ok {
			m.OnlyA = append(m.OnlyA, i)
			continue
		}
		matched[j] = true
		m.Both = append(m.Both, [2]int{i, j})
	}
	for j := range b {
		if !matched[j] {
			m.OnlyB = append(m.OnlyB, j)
		}
	}
	return m
}
