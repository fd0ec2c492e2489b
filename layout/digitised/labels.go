package digitised

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/internal/geometry"
)

// A name whose measured place is this far, in mm along the scalp, from the
// place of its site is a label only. An earlobe or a mastoid has no place of
// its own, and is as far off when it is this far from the ear point.
const labelDistance, earDistance = 30, 60

// fittedWithin are the distances in mm within which names take part in the fit
// of the turn, round by round: it must not follow names that mean nothing.
var fittedWithin = [...]float64{60, 45, labelDistance, labelDistance, labelDistance}

// A nameCheck compares names with the places where they were measured.
type nameCheck struct {
	radius   float64
	names    []string
	ideal    []r3.Vec // directions
	measured []r3.Vec // directions
}

// findLabels finds the names that stand for no site here, in schemes of makers
// that share some names with the 10-5 system: their n1 is not N1, their C4 may
// be on the forehead. Electrodes that are exchanged, and caps whose sides are,
// keep their names: a check of the cap finds them.
func (d *digitiser) findLabels() error {
	c := nameCheck{radius: d.Radius}
	var ears []layout.Site
	var wanted []layout.Name
	for _, s := range d.Sites {
		n, err := layout.Parse(s.Name)
		switch {
		case err != nil:
		case n.Kind() == layout.Scalp:
			wanted = append(wanted, n)
			c.names, c.measured = append(c.names, s.Name), append(c.measured, r3.Unit(s.Position))
		default:
			ears = append(ears, s)
		}
	}
	if len(wanted)+len(ears) == 0 {
		return nil
	}
	placed, err := layout.Place(d.head, wanted)
	if err != nil {
		return fmt.Errorf("the sites of the names: %w", err)
	}
	for _, p := range placed {
		c.ideal = append(c.ideal, r3.Unit(p.Position))
	}
	off := c.off(c.ideal)
	near := within(off)
	if c.swapped(near) {
		return nil
	}
	other := near*2 < len(off) || near < len(off) && len(off)*2 < len(d.Sites)
	var far []string
	for i, name := range c.names {
		if other || off[i] >= labelDistance && !c.exchanged(off, i) {
			d.Labels = append(d.Labels, name)
			far = append(far, fmt.Sprintf("%s %.0f mm", name, off[i]))
		}
	}
	landmarks := d.head.Landmarks()
	for _, s := range ears {
		ear := landmarks.LeftPreauricular
		if n, _ := layout.Parse(s.Name); n.Side() == layout.RightSide {
			ear = landmarks.RightPreauricular
		}
		away := d.Radius * geometry.AngleBetween(ear, s.Position)
		if other || away >= earDistance {
			d.Labels = append(d.Labels, s.Name)
			far = append(far, fmt.Sprintf("%s %.0f mm", s.Name, away))
		}
	}
	d.warnLabels(far, other)
	return nil
}

// named are the sites whose names are more than labels.
func (d *digitiser) named() []layout.Site {
	return slices.DeleteFunc(slices.Clone(d.Sites),
		func(s layout.Site) bool { return slices.Contains(d.Labels, s.Name) })
}

// mostListed is how many labels a warning lists.
const mostListed = 8

// warnLabels says once which names are labels only.
func (d *digitiser) warnLabels(far []string, other bool) {
	if len(far) == 0 {
		return
	}
	list := strings.Join(far[:min(mostListed, len(far))], ", ")
	if more := len(far) - mostListed; more > 0 {
		list += fmt.Sprintf(" and %d more", more)
	}
	why := fmt.Sprintf("%d mm or more", labelDistance)
	if other {
		why = "as in another scheme than the 10-5 system,"
	}
	d.warn("names of sites that are measured elsewhere, %s off, are labels only: %s; if they are meant, "+
		"digitise them again", why, list)
}

// off are the distances of the measured from the ideal places, in mm along the
// scalp, after the turn that brings most of them together.
func (c *nameCheck) off(ideal []r3.Vec) []float64 {
	turned := ideal
	var off []float64
	for _, limit := range fittedWithin {
		off = off[:0]
		var from, to []r3.Vec
		for i, p := range turned {
			off = append(off, c.radius*geometry.AngleBetween(p, c.measured[i]))
			if off[i] < limit {
				from, to = append(from, ideal[i]), append(to, c.measured[i])
			}
		}
		if len(from) < fewestNamed {
			return c.straight(ideal)
		}
		q, ok := geometry.BestRotation(from, to, false)
		if !ok || r3.Norm(geometry.RotationVector(q)) > math.Pi/4 {
			return c.straight(ideal)
		}
		turned = geometry.TurnedBy(q, ideal)
	}
	return off
}

// straight are the distances without a turn, where no cap is told.
func (c *nameCheck) straight(ideal []r3.Vec) []float64 {
	off := make([]float64, len(ideal))
	for i, p := range ideal {
		off[i] = c.radius * geometry.AngleBetween(p, c.measured[i])
	}
	return off
}

func within(off []float64) int {
	n := 0
	for _, d := range off {
		if d < labelDistance {
			n++
		}
	}
	return n
}

// leastSwapped is the share of the names that a swap of the cap's sides must
// bring to their places.
const leastSwapped = 0.8

// swapped reports whether the names are right for a cap whose left and right,
// front and back, or both are exchanged.
func (c *nameCheck) swapped(near int) bool {
	for _, sign := range [...]r3.Vec{{X: -1, Y: 1, Z: 1}, {X: 1, Y: -1, Z: 1}, {X: -1, Y: -1, Z: 1}} {
		swapped := make([]r3.Vec, len(c.ideal))
		for i, p := range c.ideal {
			swapped[i] = r3.Vec{X: sign.X * p.X, Y: sign.Y * p.Y, Z: p.Z}
		}
		n := within(c.off(swapped))
		if n > near && n >= fewestNamed && float64(n) >= leastSwapped*float64(len(c.names)) {
			return true
		}
	}
	return false
}

// exchanged reports whether another electrode that is off as well sits where i
// belongs, and i where it does.
func (c *nameCheck) exchanged(off []float64, i int) bool {
	near := func(a, b r3.Vec) bool { return c.radius*geometry.AngleBetween(a, b) < labelDistance }
	for j := range off {
		if j != i && off[j] >= labelDistance && near(c.measured[i], c.ideal[j]) && near(c.measured[j],
			c.ideal[i]) {
			return true
		}
	}
	return false
}
