package digitised

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
)

// Layout are measured positions in head coordinates.
//
// # From points to the head
//
// The axes come from the landmarks: the turn that brings nasion, LPA and RPA
// (and the inion, where measured) nearest to those of the head model, by least
// squares (Kabsch 1976). Of three landmarks, the plane is brought onto the
// model's plane, so that it gives the pitch: on a sphere that plane is parallel
// to the ring through Fpz, T7, Oz and T8 and lies 22.5° below it. Sizes do not
// enter.
//
// The origin is the centre of the sphere that fits 16 or more sites best, by
// geometric least squares: the point from which the spline projects. Where tape
// measures gave an ellipsoid or two halves, a surface of these proportions
// takes the sphere's place, so that the origin is the one from which
// [layout.Place] counts. A cap that sits askew does not move this origin, since
// its electrodes still touch the head. With fewer sites, and on a scan, the
// origin is where the landmarks fit those of the head model best.
//
// An error of the landmarks turns all positions alike: 2 mm up or down at the
// nasion are about 1° of pitch. AxesCovariance says how much to expect.
type Layout struct {
	Sites          []layout.Site          // in the order of the points; mm, x right, y front, z up
	Landmarks      map[layout.Name]r3.Vec // those measured of Nz, LPA, RPA and Iz, as Sites
	Radius         float64                // of the scalp's sphere: fitted, else the tape's; mm
	Fitted         int                    // sites that the sphere was fitted to, 0 where the tape's is used
	RMS            float64                // of the sites' distances from the fitted surface, mm
	AxesCovariance layout.PoseCovariance  // of a turn of the axes, and so of all sites alike
	Unit           string                 // of the points as they were understood: mm, cm or m
	Axes           Axes                   // of the points; empty where only the landmarks told
	Without        []string               // points without a position
	Unknown        []string               // sites whose name is in no system
	// sites whose name is in the system, and whose place is that of
	// another: labels only
	Labels   []string
	Warnings []string // what was corrected or supposed; for the reader to check
}

// Options are what the caller knows. The zero value is nothing.
type Options struct {
	Unit string // of the points, mm, cm or m; goes before the sidecar's
	Axes Axes   // of the points; goes before the sidecar's
	// Head is the head model that tape measures gave, or a scan. Nil stands
	// for DefaultHead.
	Head layout.Surface
	// TipOffset is how far, in mm, the points were taken from the scalp: 6
	// for the top of an electrode 6 mm high. Sites are moved inwards by it,
	// landmarks are not.
	TipOffset float64
	// LandmarkError is the standard error of a landmark's coordinates in
	// mm, from which AxesCovariance follows. Zero means 2 mm (common
	// practice, no source).
	LandmarkError float64
}

// maxTipOffset is more than any electrode's height, in mm.
const maxTipOffset = 30

// Digitise turns points into sites of a head. The coordinates say how to read
// them; their zero value says nothing, and then the unit is found from the size
// and the axes from landmarks or site names, each with a warning. A unit that
// contradicts the numbers is corrected, with a warning.
//
// Landmarks are taken from the points, whatever their spelling (NAS, Nasion,
// LPA, INI and so on), else from the coordinates. It refuses mirrored points,
// such as LPA and RPA exchanged, and points of no head's size. Names of sites
// that were measured elsewhere are in Labels. Positions that this package wrote
// (see [RAS]) come back as they are.
func Digitise(p Points, c Coordinates, o Options) (Layout, error) {
	d, err := newDigitiser(p, c, o)
	if err != nil {
		return Layout{}, err
	}
	if err := d.run(d.align, d.checkOrder, d.moveInwards, d.findLabels); err != nil {
		return Layout{}, err
	}
	d.warnSides()
	return d.Layout, nil
}

// newDigitiser checks the points and brings them to mm, along x right, y front
// and z up as far as the stated axes say.
func newDigitiser(p Points, c Coordinates, o Options) (*digitiser, error) {
	if err := CheckSites(p.Sites); err != nil {
		return nil, err
	}
	if !(o.TipOffset >= 0 && o.TipOffset <= maxTipOffset) {
		return nil, fmt.Errorf("tip offset %g mm: expected 0 to %d mm", o.TipOffset, maxTipOffset)
	}
	if !(o.LandmarkError >= 0 && o.LandmarkError <= maxTipOffset) {
		return nil, fmt.Errorf("error of landmarks %g mm: expected some 2 mm", o.LandmarkError)
	}
	d := &digitiser{options: o, coordinates: c, head: o.Head}
	if d.head == nil {
		d.head = head.Sphere(head.Default().Radius())
	}
	d.Without = p.Without
	d.Sites, d.Landmarks = part(p.Sites)
	if len(d.Sites) == 0 {
		return nil, errors.New("no electrode among the points: expected sites beside the landmarks")
	}
	for _, s := range d.Sites {
		if _, err := layout.Parse(s.Name); err != nil {
			d.Unknown = append(d.Unknown, s.Name)
		}
	}
	return d, d.run(d.readLandmarks, d.scale, d.point)
}

func (d *digitiser) run(steps ...func() error) error {
	for _, step := range steps {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

// CheckSites asks for names, each once, and finite numbers.
func CheckSites(points []layout.Site) error {
	given := make(map[string]bool, len(points))
	for _, s := range points {
		if s.Name == "" {
			return errors.New("a point has no name: give one")
		}
		if given[pointKey(s.Name)] {
			return fmt.Errorf("site %.40q is given twice: keep one of the two points", s.Name)
		}
		given[pointKey(s.Name)] = true
		if n := r3.Norm(s.Position); math.IsNaN(n) || math.IsInf(n, 0) {
			return fmt.Errorf("site %.40q is at %v: expected finite numbers", s.Name, s.Position)
		}
	}
	return nil
}

// A digitiser brings points step by step into head coordinates.
type digitiser struct {
	Layout
	options     Options
	coordinates Coordinates
	head        layout.Surface
	shared      map[string]bool // spellings of the sites that the centre is fitted to; nil for all
	apart       bool            // landmarks have a unit of their own
	fromEars    bool            // the file's origin is between the ears
}

func (d *digitiser) warn(format string, values ...any) {
	d.Warnings = append(d.Warnings, fmt.Sprintf(format, values...))
}

// readLandmarks completes the landmarks among the points by the coordinates'.
// Where these have a unit of their own, they stand alone.
func (d *digitiser) readLandmarks() error {
	c := d.coordinates
	given, err := c.landmarks()
	if err != nil {
		return err
	}
	if len(given) > 0 && !complete(d.Landmarks) {
		if c.LandmarkSystem != "" && layout.Fold(c.LandmarkSystem) != layout.Fold(c.System) {
			d.warn("landmarks are in system %s, electrodes in %s: the landmarks are not used",
				c.LandmarkSystem,
				c.System)
			given = nil
		} else if d.apart = c.LandmarkUnits != c.Units && d.options.Unit == ""; d.apart {
			d.Landmarks = given
		}
		for n, p := range given {
			if _, ok := d.Landmarks[n]; !ok {
				d.Landmarks[n] = p
			}
		}
	}
	if _, ok := d.Landmarks["Nz"]; !ok && len(d.Landmarks) > 0 {
		var found bool
		if d.Sites, found = takeNasion(d.Sites, d.Landmarks); found {
			d.warn("point Nz is taken for the nasion: call it NAS if it is")
		}
	}
	return nil
}

// farthestPoint is more than a position on a head has in any unit.
const farthestPoint = 1e6

// scale brings sites and landmarks to mm. Landmarks tell the unit best, since
// their distance varies least.
func (d *digitiser) scale() error {
	for _, s := range d.Sites {
		if r3.Norm(s.Position) > farthestPoint {
			return fmt.Errorf("site %.40q is at %v: expected a position on a head, in m, cm or mm", s.Name,
				s.Position)
		}
	}
	stated := d.options.Unit
	if stated == "" {
		stated = d.coordinates.Units
	}
	if n, ok := layout.StrayLandmark(d.Landmarks); ok {
		return fmt.Errorf("landmark %s lies far from the others: digitise it again", n)
	}
	ears, hasEars := landmarkExtent(d.Landmarks)
	cap, hasCap := siteExtent(d.Sites)
	landmarkUnit := stated
	if d.apart {
		landmarkUnit = d.coordinates.LandmarkUnits
	}
	var ofLandmarks, ofSites float64
	var err error
	if hasEars {
		if ofLandmarks, err = d.unit(ears, landmarkUnit); err != nil {
			return err
		}
	}
	switch {
	case hasEars && !d.apart:
		ofSites = ofLandmarks
		if hasCap && !cap.fits(ofSites) {
			return fmt.Errorf("%s and %s: no head has both, check the positions", ears.in(ofSites),
				cap.in(ofSites))
		}
	case hasCap:
		if ofSites, err = d.unit(cap, stated); err != nil {
			return err
		}
	default:
		if ofSites, err = millimetres(stated); err != nil {
			return err
		}
		if ofSites == 0 {
			return errors.New("the unit of positions is missing: state m, cm or mm")
		}
	}
	if !hasEars {
		ofLandmarks = ofSites
	}
	d.Unit = unitName(ofSites)
	d.Sites = scaled(d.Sites, ofSites)
	for n, p := range d.Landmarks {
		d.Landmarks[n] = r3.Scale(ofLandmarks, p)
	}
	for _, s := range d.Sites {
		if err := checkReach(s); err != nil {
			return err
		}
	}
	return nil
}

// unit asks the extent for its unit and keeps its warning.
func (d *digitiser) unit(e extent, stated string) (float64, error) {
	mm, warning, err := e.unit(stated)
	if warning != "" {
		d.Warnings = append(d.Warnings, warning)
	}
	return mm, err
}

// nearestCentre is nearer to the centre of the head, in mm, than any position
// on it.
const nearestCentre = 20

// moveInwards takes the electrodes' height off. It refuses what is no place on
// a head.
func (d *digitiser) moveInwards() error {
	offset := d.options.TipOffset
	for _, s := range d.Sites {
		if n := r3.Norm(s.Position); n-offset < nearestCentre {
			return fmt.Errorf("site %.40q is %.1f mm from the centre of the head: expected a position on it",
				s.Name,
				n)
		}
	}
	if offset == 0 {
		return nil
	}
	for i, s := range d.Sites {
		out := s.Position
		switch h := d.head.(type) {
		case head.Ellipsoid:
			out = h.Normal(out)
		case head.TwoHalves:
			out = h.Side(out).Normal(out)
		}
		d.Sites[i].Position = r3.Sub(s.Position, r3.Scale(offset, r3.Unit(out)))
	}
	if d.Fitted > 0 {
		d.Radius -= offset
	}
	return nil
}
