package study

import (
	"fmt"
	"math"
	"strings"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo/forward"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// Head returns the head of every participant: one standard sphere, so that a
// site means the same place in all of them.
func (*Study) Head() head.Head { return head.Default() }

// Sites returns the 64 recorded sites in the order of the recordings.
func (*Study) Sites() []string { return sites() }

// siteText lists the 64 recorded sites of the 10-10 system, a coronal row a
// line.
const siteText = `
Fp1 Fpz Fp2
AF7 AF3 AFz AF4 AF8
F7 F5 F3 F1 Fz F2 F4 F6 F8
FT7 FC5 FC3 FC1 FCz FC2 FC4 FC6 FT8
T7 C5 C3 C1 Cz C2 C4 C6 T8 T9 T10
TP7 CP5 CP3 CP1 CPz CP2 CP4 CP6 TP8
P7 P5 P3 P1 Pz P2 P4 P6 P8
PO7 PO3 POz PO4 PO8
O1 Oz O2
Iz`

func sites() []string { return strings.Fields(siteText) }

const siteCount = 64

// The sensors of the simulation are the sites and then these four, which
// appear in the recordings only as the reference and as the eye channel.
const (
	mastoid1 = siteCount + iota
	mastoid2
	aboveEye
	belowEye
	sensorCount
)

// A scalp is the geometry that all participants share.
type scalp struct {
	head    forward.Sphere
	sensors []r3.Vec // mm
	index   map[string]int
}

func newScalp() (*scalp, error) {
	radius := head.Default().Radius()
	s := &scalp{head: forward.FourShells(radius), index: make(map[string]int, siteCount)}
	// A mastoid lies about where TP9 and TP10 do (common practice, no
	// source).
	var names []layout.Name
	for _, site := range append(sites(), "TP9", "TP10") {
		names = append(names, layout.Name(site))
	}
	placements, err := layout.Place(head.Sphere(radius), names)
	if err != nil {
		return nil, err
	}
	for i, p := range placements {
		s.sensors = append(s.sensors, p.Position)
		if i < siteCount {
			s.index[p.Name] = i
		}
	}
	for _, up := range []float64{-8, -45} { // above and below the right eye
		s.sensors = append(s.sensors, r3.Scale(radius, direction(20, up)))
	}
	return s, nil
}

// direction is the unit vector so many degrees to the right of straight ahead
// and above the ring of the head.
func direction(right, up float64) r3.Vec {
	sinRight, cosRight := math.Sincos(right * math.Pi / 180)
	sinUp, cosUp := math.Sincos(up * math.Pi / 180)
	return r3.Vec{X: cosUp * sinRight, Y: cosUp * cosRight, Z: sinUp}
}

// at looks a site up.
func (s *scalp) at(site string) (int, error) {
	i, ok := s.index[site]
	if !ok {
		return 0, fmt.Errorf("site %q is not recorded: the study has %s", site, strings.Join(sites(), " "))
	}
	return i, nil
}

// toAverage subtracts from a pattern over the sensors its mean over the sites.
func toAverage(pattern []float64) {
	mean := 0.0
	for _, v := range pattern[:siteCount] {
		mean += v / siteCount
	}
	for i := range pattern {
		pattern[i] -= mean
	}
}

// patterns returns what each dipole causes, one row a dipole and one value a
// sensor, in µV.
func (s *scalp) patterns(dipoles []forward.Dipole) ([][]float64, error) {
	potentials, err := s.head.Potentials(dipoles, s.sensors)
	if err != nil {
		return nil, err
	}
	rows := make([][]float64, len(dipoles))
	for j := range rows {
		rows[j] = mat.Col(nil, j, potentials)
	}
	return rows, nil
}

// generator is a source of the invented brain: where it lies, as a direction
// from the centre and a share of the head's radius, and where its moment
// points.
type generator struct {
	direction r3.Vec
	depth     float64
	moment    r3.Vec
}

// dipole is the generator with a moment of 1 nA·m.
func (g generator) dipole() forward.Dipole {
	return forward.Dipole{
		Position: r3.Scale(g.depth*head.Default().Radius(), r3.Unit(g.direction)),
		Moment:   r3.Unit(g.moment),
	}
}
