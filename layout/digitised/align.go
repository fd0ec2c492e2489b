package digitised

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/layout/internal/geometry"
)

// fewestFitted is how many sites a sphere is fitted to.
const fewestFitted = 16

// Fitted spheres of no possible size, or whose centre is less certain, say
// nothing about the head: circumferences of 250 to 800 mm, and a centre within
// some 5 mm. Beyond 300 to 700 mm it is no head either, but one that is touched
// through hair and electrodes may come out as one (common practice, no source).
const (
	leastAround, mostAround     = 300, 700 // mm
	leastPossible, mostPossible = 250, 800
	maxCentreError              = 5
)

// A site farther from the fitted surface, in mm, was hardly touched by the pen.
const strayDistance = 20

// axisShare is the cosine of 45°: a direction that keeps to it is nearer to its
// axis than to any other.
const axisShare = math.Sqrt2 / 2

// point turns everything to x right, y front, z up as far as the stated axes
// say.
func (d *digitiser) point() error {
	stated := d.coordinates.system()
	d.Axes, d.fromEars = d.options.Axes, stated.betweenEars
	if d.Axes == "" {
		d.Axes = stated.axes
	} else if !validAxes(string(d.Axes)) {
		_, err := ParseAxes(string(d.Axes))
		return err
	}
	if d.Axes == "" && !complete(d.Landmarks) {
		if err := d.findAxes(); err != nil {
			return err
		}
	}
	for i, s := range d.Sites {
		d.Sites[i].Position = d.Axes.RAS(s.Position)
	}
	for n, p := range d.Landmarks {
		d.Landmarks[n] = d.Axes.RAS(p)
	}
	return nil
}

// fewestNamed is how many site names may tell the axes, and leastAgreement the
// mean cosine between positions and ideal ones that they need.
const (
	fewestNamed    = 8
	leastAgreement = 0.9
)

// onUnitSphere is where the rules put a site of the scalp on a sphere of radius
// 1.
func onUnitSphere(name string) (r3.Vec, bool) {
	n, err := layout.Parse(name)
	if err != nil || n.Kind() != layout.Scalp {
		return r3.Vec{}, false
	}
	placed, err := layout.Place(head.Sphere(1), []layout.Name{n})
	if err != nil {
		return r3.Vec{}, false
	}
	return placed[0].Position, true
}

// findAxes tries every way to point the axes and keeps the one that brings the
// named sites nearest to where the rules put them on a sphere.
func (d *digitiser) findAxes() error {
	const advice = "state the axes, such as RAS, or give NAS, LPA and RPA"
	fit, err := fitSphere(pointsOf(d.Sites))
	if err != nil {
		return fmt.Errorf("the axes are not known and %w: %s", err, advice)
	}
	var measured, ideal []r3.Vec
	for _, s := range d.Sites {
		p, ok := onUnitSphere(s.Name)
		if !ok {
			continue
		}
		measured = append(measured, r3.Unit(r3.Sub(s.Position, fit.centre)))
		ideal = append(ideal, p)
	}
	if len(measured) < fewestNamed {
		return fmt.Errorf("the axes are not known and only %d sites have names of the 10-5 system: %s",
			len(measured),
			advice)
	}
	best, agreement := Axes(""), -1.0
	for _, a := range allAxes() {
		sum := 0.0
		for i, m := range measured {
			sum += r3.Dot(a.RAS(m), ideal[i])
		}
		if sum/float64(len(measured)) > agreement {
			best, agreement = a, sum/float64(len(measured))
		}
	}
	if agreement < leastAgreement {
		return fmt.Errorf("the axes are not known and the site names do not tell them: %s", advice)
	}
	if !best.rightHanded() {
		return fmt.Errorf("the site names say axes %s, which are mirrored: exchange left and right or "+
			"state the axes",
			best)
	}
	d.Axes = best
	d.warn("no axes are stated: the site names say %s", best)
	return nil
}

// align moves sites and landmarks into head coordinates.
func (d *digitiser) align() error {
	if d.placed() {
		for _, s := range d.Sites {
			d.Radius += r3.Norm(s.Position) / float64(len(d.Sites))
		}
		return nil
	}
	if complete(d.Landmarks) {
		if err := d.followLandmarks(); err != nil {
			return err
		}
	} else {
		d.warn("NAS, LPA and RPA are not all given: the tilt of the axes is taken as it is")
	}
	centred, err := d.centre()
	if err != nil {
		return err
	}
	d.Radius = ringRadius(d.head)
	if centred.radius > 0 {
		d.follow(centred)
		return d.addAxesError(centred.centreError)
	}
	if d.options.Head == nil {
		d.warn("%d sites give no sphere and no head is measured: a circumference of 560 mm is supposed",
			len(d.fitted()))
	}
	if complete(d.Landmarks) {
		return d.addAxesError(r3.Vec{})
	}
	if !d.fromEars {
		return errors.New("no landmarks and no sphere through the sites: give NAS, LPA and RPA")
	}
	d.move(r3.Scale(-1, r3.Vec{Z: d.head.Landmarks().LeftPreauricular.Z}))
	return nil
}

// placed reports whether the positions are in head coordinates already.
func (d *digitiser) placed() bool { return d.coordinates.inHead() && d.options.Axes == "" }

// standingOff is how far, in mm, the landmarks may say that the sites' surface
// is above or below the head (common practice, no source).
const standingOff = 8

// follow makes a fitted surface's centre the origin.
func (d *digitiser) follow(f sphereFit) {
	d.warnStandingOff(f.centre.Z)
	d.move(f.centre)
	d.Radius, d.Fitted, d.RMS = f.radius, f.points, f.rms
	tape := ringRadius(d.head)
	if r := f.radius - d.options.TipOffset; d.options.Head != nil && math.Abs(r-tape) > 0.1*tape {
		d.warn("the sites lie on a head of %.0f mm circumference, the tape says %.0f mm: measure again",
			2*math.Pi*r,
			2*math.Pi*tape)
	}
	m, _ := d.head.(modelled)
	for _, s := range d.Sites {
		if off := r3.Norm(m.ToUnit(s.Position))*tape - f.radius; math.Abs(off) > strayDistance {
			d.warn("site %s is %.0f mm off the surface through the others: digitise it again", s.Name,
				math.Abs(off))
		}
	}
}

// warnStandingOff compares the centre with that of the head which the landmarks
// were brought onto. A sphere is too rough a head for that.
func (d *digitiser) warnStandingOff(up float64) {
	m, ok := d.options.Head.(modelled)
	if !ok || m.Mean().Spherical() || !complete(d.Landmarks) || math.Abs(up) <= standingOff {
		return
	}
	way := "higher"
	if up < 0 {
		way = "lower"
	}
	d.warn("the sites lie %.0f mm %s as a whole than the landmarks and the tape say: does the cap touch "+
		"the head all "+
		"round? Digitise the landmarks again", math.Abs(up), way)
}

// move makes a point the origin.
func (d *digitiser) move(origin r3.Vec) {
	for i, s := range d.Sites {
		d.Sites[i].Position = r3.Sub(s.Position, origin)
	}
	for n, p := range d.Landmarks {
		d.Landmarks[n] = r3.Sub(p, origin)
	}
}

// A modelled surface is one that tape measures gave. It maps itself to the unit
// sphere, and the origin to the origin.
type modelled interface {
	ToUnit(r3.Vec) r3.Vec
	Mean() head.Ellipsoid // of its sides
}

// ringRadius is the perimeter of the ring divided by 2π. A scan has none; its
// landmarks' mean distance from the origin comes near.
func ringRadius(s layout.Surface) float64 {
	if m, ok := s.(modelled); ok {
		e := m.Mean()
		return 4 * geometry.QuarterPerimeter(e.Right, e.Front) / (2 * math.Pi)
	}
	l := s.Landmarks()
	return geometry.MeanRadius([]r3.Vec{l.Nasion, l.Inion, l.LeftPreauricular, l.RightPreauricular, l.Vertex})
}

// centre fits the sphere, or the surface of the head's proportions: mapped to
// the unit sphere it is one too. The radius is zero where nothing is fitted. A
// scan has its own origin.
func (d *digitiser) centre() (sphereFit, error) {
	m, ok := d.head.(modelled)
	points := d.fitted()
	if !ok || len(points) < fewestFitted {
		return sphereFit{}, nil
	}
	f, err := fitWithoutStrays(m, points)
	if err != nil || r3.Norm(f.centreError) > maxCentreError {
		d.warn("the sites determine no sphere: the head model's is used")
		return sphereFit{}, nil
	}
	return f, d.judgeSize(2 * math.Pi * (f.radius - d.options.TipOffset))
}

// judgeSize warns of a head that is larger or smaller than any, and refuses
// what is impossible; around is its circumference without the electrodes'
// height, in mm.
func (d *digitiser) judgeSize(around float64) error {
	switch {
	case around < leastPossible || around > mostPossible:
		return fmt.Errorf("the sites lie on a head of %.0f mm circumference: expected %d to %d mm, "+
			"check unit and "+
			"positions", around, leastAround, mostAround)
	case around > mostAround:
		d.warn("the sites lie on a head of %.0f mm circumference, and heads have up to %d mm: were the tops of "+
			"electrodes touched? Give their height as the tip offset", around, mostAround)
	case around < leastAround:
		d.warn("the sites lie on a head of %.0f mm circumference, and heads have %d mm or more: check unit and "+
			"positions", around, leastAround)
	}
	return nil
}

// fewestKept is the share of the points that a surface must keep as its own.
const fewestKept, strayRounds = 0.75, 5

// fitWithoutStrays leaves out what lies far from the surface of the others, in
// rounds, since a stray draws the surface towards itself.
func fitWithoutStrays(m modelled, points []r3.Vec) (sphereFit, error) {
	f, err := fitModelled(m, points)
	ring := ringRadius(m.Mean())
	kept := points
	for range strayRounds {
		if err != nil {
			break
		}
		near := slices.DeleteFunc(slices.Clone(points), func(p r3.Vec) bool {
			return math.Abs(r3.Norm(m.ToUnit(r3.Sub(p, f.centre)))*ring-f.radius) > strayDistance
		})
		if len(near) == len(kept) || float64(len(near)) < fewestKept*float64(len(points)) {
			break
		}
		kept = near
		f, err = fitModelled(m, kept)
	}
	return f, err
}

// fitted returns the points that the surface is fitted to.
func (d *digitiser) fitted() []r3.Vec {
	if d.shared == nil {
		return pointsOf(d.Sites)
	}
	var points []r3.Vec
	for _, s := range d.Sites {
		if d.shared[spelling(s.Name)] {
			points = append(points, s.Position)
		}
	}
	return points
}

// fitModelled fits the surface in any size. A point of a head with two sides is
// mapped by the side that it is on, so that the centre is found in rounds; one
// is enough for an ellipsoid. Lengths come back in mm, the radius as the
// ring's.
func fitModelled(m modelled, points []r3.Vec) (sphereFit, error) {
	e := m.Mean()
	var centre r3.Vec
	for range 50 {
		units := geometry.Shifted(points, centre)
		for i, p := range units {
			units[i] = m.ToUnit(p)
		}
		f, err := fitSphere(units)
		if err != nil {
			return sphereFit{}, err
		}
		step := e.FromUnit(f.centre)
		centre = r3.Add(centre, step)
		ring := ringRadius(e)
		f.centre, f.centreError = centre, e.FromUnit(f.centreError)
		f.radius, f.rms, f.points = f.radius*ring, f.rms*ring, len(points)
		if r3.Norm(step) < 1e-9*ring {
			return f, nil
		}
	}
	return sphereFit{}, errNoSphere
}

func pointsOf(sites []layout.Site) []r3.Vec {
	points := make([]r3.Vec, len(sites))
	for i, s := range sites {
		points[i] = s.Position
	}
	return points
}
