package scan

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/layout/internal/decimal"
)

// A Scan is a head as it was scanned, in head coordinates and mm.
//
// Arcs are sections of the mesh by a plane: of the section's connected piece,
// the way that leads from the first point over the second to the third. Lengths
// are those of a tape that is drawn tight over that way and spans its hollows,
// and points of an arc are points of the tape.
//
// The vertex halves the arcs from nasion to inion and from ear to ear, found in
// turns until both agree to 0.01 mm. The origin is the mean of Fpz, T7, Oz and
// T8; y points from Oz to Fpz, and z stands on y and on the line from T7 to T8.
// On an ellipsoid these are its centre and axes. The spline projects from the
// origin.
type Scan struct {
	mesh      *Mesh
	landmarks layout.Landmarks
	unit      string
	measures  head.Head
	warnings  []string
}

const (
	vertexTolerance = 0.01 // mm between the middles of the two arcs
	landmarkFar     = 5    // mm from the surface that are refused
	landmarkOff     = 2    // mm from the surface that are warned of
)

// New places a mesh in head coordinates by its four landmarks. The unit of the
// scan is m, cm or mm; an empty unit is found from the head's size, and
// [Scan.Unit] tells it. It refuses landmarks that are no head's in that unit, that
// lie more than 5 mm off the surface or not in their order around the head, a
// mirrored scan, a head that is more than 1.05 times as wide as long, and a
// scan with a hole on the arcs to the vertex or measures that [head.Head.Check]
// refuses. The surface may be open below the landmarks.
func New(m *Mesh, l Landmarks, unit string) (*Scan, error) {
	unit, mm, err := l.findUnit(unit)
	if err != nil {
		return nil, err
	}
	s := &Scan{unit: unit}
	s.mesh = m.moved(func(v r3.Vec) r3.Vec { return r3.Scale(mm, v) })
	if err := s.attach(l.each(func(_ string, v r3.Vec) r3.Vec { return r3.Scale(mm, v) })); err != nil {
		return nil, err
	}
	if err := s.findVertex(); err != nil {
		return nil, err
	}
	if err := s.toHead(); err != nil {
		return nil, err
	}
	if err := s.measure(); err != nil {
		return nil, fmt.Errorf("scan: %w", err)
	}
	return s, nil
}

// Unit returns the unit that the scan was taken to be in: m, cm or mm.
func (s *Scan) Unit() string { return s.unit }

// Landmarks returns the landmarks, moved to the nearest point of the surface,
// and the vertex.
func (s *Scan) Landmarks() layout.Landmarks { return s.landmarks }

// Measures returns what a tape would read on the scanned head.
func (s *Scan) Measures() head.Head { return s.measures }

// Warnings returns what is possible but rare about the scan: landmarks more
// than 2 mm off the surface, and what [head.Head.Check] warns of.
func (s *Scan) Warnings() []string { return s.warnings }

// each changes every landmark.
func (l Landmarks) each(change func(name string, v r3.Vec) r3.Vec) Landmarks {
	return Landmarks{
		Nasion:            change("NAS", l.Nasion),
		Inion:             change("INI", l.Inion),
		LeftPreauricular:  change("LPA", l.LeftPreauricular),
		RightPreauricular: change("RPA", l.RightPreauricular),
	}
}

// Named gives them as [layout.Landmarks] does.
func (l Landmarks) Named() map[layout.Name]r3.Vec {
	return map[layout.Name]r3.Vec{"Nz": l.Nasion, "Iz": l.Inion, "LPA": l.LeftPreauricular,
		"RPA": l.RightPreauricular}
}

// span returns the mean distance of opposite landmarks.
func (l Landmarks) span() float64 {
	return (r3.Norm(r3.Sub(l.Nasion, l.Inion)) + r3.Norm(r3.Sub(l.RightPreauricular, l.LeftPreauricular))) / 2
}

// On a sphere, opposite landmarks see each other across an angle of 225° and
// the circumference is this multiple of their distance.
var aroundSpan = math.Pi / math.Cos(math.Pi/8)

// findUnit returns the unit in which the landmarks are those of a head, and its
// length in mm. Heads differ by less than a factor of ten, so that no two units
// fit.
func (l Landmarks) findUnit(stated string) (unit string, mm float64, err error) {
	if n, ok := layout.StrayLandmark(l.Named()); ok {
		return "", 0, fmt.Errorf("landmark %s lies far from the other three: mark it again", n)
	}
	around := l.span() * aroundSpan
	known := false
	for _, u := range [...]struct {
		name string
		mm   float64
	}{{"m", 1000}, {"cm", 10}, {"mm", 1}} {
		known = known || u.name == stated
		if c := around * u.mm; head.MinCircumference <= c && c <= head.MaxCircumference {
			unit, mm = u.name, u.mm
		}
	}
	switch {
	case stated != "" && !known:
		return "", 0, fmt.Errorf("unit %q of the scan: expected m, cm or mm", stated)
	case unit == "":
		return "", 0, fmt.Errorf("the landmarks are %s apart on average: no head in m, cm or mm, expected "+
			"%.0f to %.0f mm",
			decimal.Digits(l.span(), 3), head.MinCircumference/aroundSpan, head.MaxCircumference/aroundSpan)
	case stated != "" && unit != stated:
		return "", 0, fmt.Errorf("the landmarks are %s %s apart on average: no head, is the scan in %s?",
			decimal.Digits(l.span(), 3), stated, unit)
	}
	return unit, mm, nil
}

// attach moves the landmarks to the surface.
func (s *Scan) attach(l Landmarks) error {
	var far error // of the first such landmark
	l = l.each(func(name string, v r3.Vec) r3.Vec {
		q, d := s.mesh.nearest(v)
		switch {
		case !(d <= landmarkFar) && far == nil:
			far = fmt.Errorf("landmark %s is %.1f mm from the surface: expected %d mm at most, mark it "+
				"on this scan",
				name, d, landmarkFar)
		case d > landmarkOff:
			s.warnings = append(s.warnings,
				fmt.Sprintf("landmark %s is %.1f mm from the surface of the scan", name, d))
		}
		return q
	})
	if far != nil {
		return far
	}
	s.landmarks = layout.Landmarks{
		Nasion: l.Nasion, Inion: l.Inion,
		LeftPreauricular: l.LeftPreauricular, RightPreauricular: l.RightPreauricular,
	}
	across, ahead := r3.Unit(r3.Sub(l.RightPreauricular, l.LeftPreauricular)), r3.Unit(r3.Sub(l.Nasion, l.Inion))
	up := r3.Cross(across, ahead)
	inOrder := r3.Norm(up) > 0.5 // the two lines cross at more than 30°
	around := [4]r3.Vec{l.Nasion, l.LeftPreauricular, l.Inion, l.RightPreauricular}
	for i, p := range around {
		q, r := around[(i+1)%4], around[(i+2)%4]
		inOrder = inOrder && r3.Dot(up, r3.Cross(r3.Sub(q, p), r3.Sub(r, q))) > 0
	}
	if !inOrder {
		return errors.New("the landmarks do not follow each other around the head as NAS, LPA, INI, RPA: " +
			"are two of " +
			"them exchanged?")
	}
	return s.guessVertex(l, r3.Unit(up))
}

// guessVertex starts from where a sphere would have its vertex. A mirrored scan
// has no surface near there.
func (s *Scan) guessVertex(l Landmarks, up r3.Vec) error {
	middle := r3.Scale(0.25, r3.Add(r3.Add(l.Nasion, l.Inion), r3.Add(l.LeftPreauricular, l.RightPreauricular)))
	sin, cos := math.Sincos(math.Pi / 8)
	height := l.span() / 2 / cos * (1 + sin)
	v, d := s.mesh.nearest(r3.Add(middle, r3.Scale(height, up)))
	if d > height/3 {
		return errors.New("the scan has no surface above its landmarks: are LPA and RPA, or NAS and INI, " +
			"exchanged, " +
			"or is the scan mirrored?")
	}
	s.landmarks.Vertex = v
	return nil
}

// findVertex goes from the middle of one arc to the middle of the other. Over a
// rough scan one tape lies higher than the other, which does not count.
func (s *Scan) findVertex() error {
	l := &s.landmarks
	base := r3.Scale(0.25, r3.Add(r3.Add(l.Nasion, l.Inion), r3.Add(l.LeftPreauricular, l.RightPreauricular)))
	for range 100 {
		midline, err := s.Section(l.Nasion, l.Vertex, l.Inion)
		if err != nil {
			return fmt.Errorf("arc NAS-Cz-INI: %w", err)
		}
		vertex := midline.At(0.5)
		coronal, err := s.Section(l.LeftPreauricular, vertex, l.RightPreauricular)
		if err != nil {
			return fmt.Errorf("arc LPA-Cz-RPA: %w", err)
		}
		l.Vertex = coronal.At(0.5)
		between, up := r3.Sub(l.Vertex, vertex), r3.Unit(r3.Sub(l.Vertex, base))
		if r3.Norm(r3.Cross(between, up)) <= vertexTolerance {
			return nil
		}
	}
	return errors.New("the arcs from nasion to inion and from ear to ear do not halve each other: check " +
		"the landmarks")
}

// ringSites are the ends of the ring's diameters.
var ringSites = []layout.Name{"Fpz", "Oz", "T7", "T8"}

// toHead turns the scan into head coordinates.
func (s *Scan) toHead() error {
	ring, err := layout.Place(s, ringSites)
	if err != nil {
		return err
	}
	fpz, oz, t7, t8 := ring[0].Position, ring[1].Position, ring[2].Position, ring[3].Position
	origin := r3.Scale(0.25, r3.Add(r3.Add(fpz, oz), r3.Add(t7, t8)))
	y := r3.Unit(r3.Sub(fpz, oz))
	z := r3.Unit(r3.Cross(r3.Sub(t8, t7), y))
	x := r3.Cross(y, z)
	move := func(v r3.Vec) r3.Vec {
		v = r3.Sub(v, origin)
		return r3.Vec{X: r3.Dot(x, v), Y: r3.Dot(y, v), Z: r3.Dot(z, v)}
	}
	s.mesh = s.mesh.moved(move)
	l := s.landmarks
	s.landmarks = layout.Landmarks{
		Nasion: move(l.Nasion), Inion: move(l.Inion),
		LeftPreauricular: move(l.LeftPreauricular), RightPreauricular: move(l.RightPreauricular),
		Vertex: move(l.Vertex),
	}
	return nil
}

// measure lays the tape along the four arcs that it can follow.
func (s *Scan) measure() error {
	var lengths [4]float64
	for i, r := range layout.Rules()[:4] {
		arc, err := r.Section(s)
		if err != nil {
			return err
		}
		lengths[i] = arc.Length()
	}
	s.measures = head.Head{NasionInion: lengths[0], EarEar: lengths[1], Circumference: lengths[2] + lengths[3]}
	if err := s.checkOrder(); err != nil {
		return err
	}
	warnings, err := s.measures.Check()
	s.warnings = append(s.warnings, warnings...)
	return err
}

// widestScan is the ring's breadth by its length beyond which the landmarks are
// taken to be a quarter turn off: heads are 0.7 to 0.9, and seldom wider than
// long (common practice, no source).
const widestScan = 1.05

// checkOrder compares the ring's diameters.
func (s *Scan) checkOrder() error {
	ring, err := layout.Place(s, ringSites)
	if err != nil {
		return err
	}
	length := r3.Norm(r3.Sub(ring[0].Position, ring[1].Position))
	breadth := r3.Norm(r3.Sub(ring[3].Position, ring[2].Position))
	if breadth <= widestScan*length {
		return nil
	}
	return fmt.Errorf("the head is %.2f times as wide as long: expected %.2f at most, are the landmarks in another "+
		"order, a quarter turn off?",
		breadth/length, widestScan)
}

// Section returns the tape over the scan in the plane through three points. It
// refuses a section that has a hole between them and says where.
func (s *Scan) Section(from, via, to r3.Vec) (layout.Arc, error) {
	points := [3]r3.Vec{from, via, to}
	p, ok := planeThrough(from, via, to)
	if !ok {
		return nil, &layout.SectionError{Points: points, Reason: "the points lie on a line"}
	}
	chains := s.mesh.cut(p)
	nearest, _ := nearestChain(chains, via)
	way, ok := nearest.route(from, via, to)
	if !ok {
		return nil, &layout.SectionError{Points: points, Reason: findGap(chains, p, from, via, to).String()}
	}
	return newTapeArc(taut(p, from, way, to), via, p, s.mesh), nil
}
