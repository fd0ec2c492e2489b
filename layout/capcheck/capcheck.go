package capcheck

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/digitised"
	"calotte/layout/head"
	"calotte/layout/internal/geometry"
)

// A Check says how a cap sits, against where its electrodes belong.
//
// A cap that is in place can only turn about the centre of the head: the three
// angles of Turn are the turn that explains the electrodes' places best. A cap
// of the wrong size sits too high or too low all round besides: Height. Every
// distance is split into its part along the scalp, the misplacement, and its
// part along the radius, which is the head model's or the pen's and nobody's
// fault.
type Check struct {
	Sites     []Site     `json:"sites,omitempty"`     // of digitised points, in the order of the ideal sites
	Tapes     []Reading  `json:"tapes,omitempty"`     // of tapes, in their order
	Swap      Swap       `json:"swap"`                // of the whole cap
	Exchanges []Exchange `json:"exchanges,omitempty"` // of single electrodes
	// how the cap is turned off its place; of a swapped cap, once that is
	// undone
	Turn Turn `json:"turn"`
	// of Turn. Where tapes do not see an angle, it is that of a cap which
	// nobody looked at from there: 6° (10 mm at the ring, common practice,
	// no source)
	Covariance layout.PoseCovariance `json:"covariance"`
	Edges      []Edge                `json:"edges,omitempty"` // what the turn does at Cz, Fpz, Oz, T7 and T8
	Rigid      *RigidFit             `json:"rigid,omitempty"` // for the table; nil for tapes
	// mm: how much too high the cap sits all round; of digitised points, 0
	// where it is not told for sure
	Height float64 `json:"height"`
	// what the turn, and such a height, leaves along the scalp: root mean
	// square, mm
	RMS    float64  `json:"rms"`
	Limit  float64  `json:"limit"`            // mm; 0 where the laboratory has none
	Beyond []string `json:"beyond,omitempty"` // sites, or tapes, that are off by more than the limit
	// measured sites without an ideal place, which are not compared
	Uncompared []string `json:"uncompared,omitempty"`
	Advice     []Advice `json:"advice,omitempty"` // what to do, in this order
	Warnings   []string `json:"warnings,omitempty"`

	// of one tape, mm, from which the errors follow
	ReadingError float64 `json:"reading_error,omitempty"`

	heightError float64 // mm
}

// A Site is how far one electrode is from its place.
type Site struct {
	Name string `json:"name"` // as measured
	// from the ideal to the measured place along the scalp; mm, x right, y
	// front, z up
	Off     r3.Vec  `json:"off"`
	Along   float64 `json:"along"`   // the distance along the scalp, mm
	Radial  float64 `json:"radial"`  // outwards, mm
	Remains float64 `json:"remains"` // along the scalp once the turn, height and swaps are undone, mm
}

// An Edge is where a turn takes the point of the cap that belongs at a site.
type Edge struct {
	Site   layout.Name `json:"site"`
	Off    r3.Vec      `json:"off"`    // mm, x right, y front, z up
	Along  float64     `json:"along"`  // the way along the scalp, mm
	Radius float64     `json:"radius"` // of the site, mm
}

// A RigidFit brings the ideal places onto the measured ones by a turn and a
// shift, as if the cap were a stiff shell.
type RigidFit struct {
	Turn  r3.Vec  `json:"turn"`  // rotation vector in degrees
	Shift r3.Vec  `json:"shift"` // mm, of the centre of the head
	RMS   float64 `json:"rms"`   // of the distances that remain, mm
}

// Options are the laboratory's.
type Options struct {
	// Limit is how far along the scalp an electrode may be off, in mm. With
	// 0 Beyond stays empty, and the advice goes by 10 mm (common practice,
	// no source): no cap with an electrode farther off is left as it is.
	Limit float64
	// Head is the model that the ideal sites were placed on. Nil stands for
	// a sphere of their mean radius.
	Head layout.Surface
	// Axes is the covariance of the axes that the measured sites are given
	// in. Digitised has it.
	Axes layout.PoseCovariance
	// TapeError is the standard error of one reading in mm. Zero means 2 mm
	// (common practice, no source).
	TapeError float64
}

// check refuses options that cannot be meant.
func (o Options) check() error {
	if !(o.Limit >= 0 && o.Limit < head.MaxCircumference/(2*math.Pi)) {
		return fmt.Errorf("limit %g mm: expected a distance such as 10 mm", o.Limit)
	}
	if e := o.Axes.Degrees(); !(r3.Norm(e) <= farTurn) {
		return fmt.Errorf("errors of the axes %v°: expected some degrees", e)
	}
	if !(o.TapeError >= 0 && o.TapeError <= 20) {
		return fmt.Errorf("error of the tape %g mm: expected some 2 mm", o.TapeError)
	}
	return nil
}

// fewestChecked is how many electrodes tell a turn and its error.
const fewestChecked = 4

// CheckSites compares digitised sites with ideal ones, both in head
// coordinates: ideal by [layout.Place] on the head's model, measured by
// [digitised.Digitise]. Sites are matched by name, however spelt.
//
// The turn is the rotation that brings the directions of the ideal sites
// nearest to those of the measured ones, distances along the scalp counting
// (Wahba 1965, SIAM Rev 7:409); its errors are those of least squares, with two
// coordinates a site and three angles. Electrodes found exchanged are put right
// before it is fitted, and so is a height of the whole cap of 3 mm or more that
// is twice its standard error or more.
func CheckSites(ideal, measured []layout.Site, o Options) (Check, error) {
	if err := o.check(); err != nil {
		return Check{}, err
	}
	if err := digitised.CheckSites(ideal); err != nil {
		return Check{}, fmt.Errorf("ideal sites: %w", err)
	}
	if err := digitised.CheckSites(measured); err != nil {
		return Check{}, err
	}
	c := Check{Limit: o.Limit}
	m := digitised.Match(ideal, measured)
	for _, i := range m.OnlyB {
		c.Uncompared = append(c.Uncompared, measured[i].Name)
	}
	if len(m.Both) < fewestChecked {
		return Check{}, fmt.Errorf("%d sites have both an ideal and a measured place: expected %d or "+
			"more, named as "+
			"in the 10-5 system", len(m.Both), fewestChecked)
	}
	var fit capFit
	for _, pair := range m.Both {
		i, j := ideal[pair[0]], measured[pair[1]]
		if r3.Norm(i.Position) == 0 || r3.Norm(j.Position) == 0 {
			return Check{}, fmt.Errorf("site %q is at the centre of the head: expected a position on it",
				j.Name)
		}
		fit.names = append(fit.names, j.Name)
		fit.ideal = append(fit.ideal, i.Position)
		fit.measured = append(fit.measured, j.Position)
	}
	if o.Head == nil {
		o.Head = head.Sphere(geometry.MeanRadius(fit.ideal))
	}
	if err := fit.run(); err != nil {
		return Check{}, err
	}
	fit.report(&c, o.Axes)
	if e, ok := o.Head.(head.Ellipsoid); ok && c.Height != 0 && e.Spherical() {
		c.Warnings = append(c.Warnings,
			"the head model is a sphere, and a head that is taller or flatter looks like a cap that "+
				"sits low or "+
				"high: measure both arcs too")
	}
	if err := c.addEdges(o.Head); err != nil {
		return Check{}, err
	}
	c.judge()
	return c, c.advise(o.Head)
}

// report writes the fit's results down.
func (f *capFit) report(c *Check, axes layout.PoseCovariance) {
	c.Swap, c.Exchanges = f.swap, f.exchanges
	degrees := 180 / math.Pi
	c.Covariance = f.covariance.Plus(axes)
	rotation, errors := r3.Scale(degrees, f.rotation), c.Covariance.Degrees()
	c.Turn = Turn{
		Pitch: Angle{rotation.X, errors.X, true},
		Roll:  Angle{rotation.Y, errors.Y, true},
		Yaw:   Angle{rotation.Z, errors.Z, true},
	}
	sum := 0.0
	for i, name := range f.names {
		e, m := f.ideal[i], f.measured[i]
		rest := alongScalp(f.place(i), m)
		sum += rest * rest
		c.Sites = append(c.Sites, Site{
			Name:    name,
			Off:     scalpVector(e, m),
			Along:   alongScalp(e, m),
			Radial:  r3.Norm(m) - r3.Norm(e),
			Remains: rest,
		})
	}
	c.RMS = math.Sqrt(sum / float64(len(f.names)))
	c.Height, c.heightError = f.height, f.heightError
	if r3.Norm(rotation) > farTurn {
		c.Warnings = append(c.Warnings,
			fmt.Sprintf("the cap seems turned by %.0f°: were the landmarks exchanged?", r3.Norm(rotation)))
	}
	c.Rigid = f.rigid()
}

// farTurn is an angle in degrees that no cap on a head is turned by.
const farTurn = 45

// judge lists what is beyond the limit.
func (c *Check) judge() {
	if c.Limit == 0 {
		return
	}
	for _, s := range c.Sites {
		if s.Along > c.Limit {
			c.Beyond = append(c.Beyond, s.Name)
		}
	}
	for _, t := range c.Tapes {
		if math.Abs(t.Off) > c.Limit {
			c.Beyond = append(c.Beyond, t.String())
		}
	}
}

// edges are the sites at which a turn is told in mm.
var edges = []layout.Name{"Cz", "Fpz", "Oz", "T7", "T8"}

func (c *Check) addEdges(head layout.Surface) error {
	placed, err := layout.Place(head, edges)
	if err != nil {
		return fmt.Errorf("the edges of the cap: %w", err)
	}
	for _, p := range placed {
		moved := geometry.Turned(p.Position, c.Turn.Vector())
		c.Edges = append(c.Edges, Edge{
			Site:   layout.Name(p.Name),
			Off:    r3.Sub(moved, p.Position),
			Along:  alongScalp(p.Position, moved),
			Radius: r3.Norm(p.Position),
		})
	}
	return nil
}

var errUndetermined = errors.New("the sites lie on one line through the head: a turn needs more")

// alongScalp is the distance from p to the direction of q on the sphere about
// the origin through p.
func alongScalp(p, q r3.Vec) float64 { return r3.Norm(p) * geometry.AngleBetween(p, q) }

// scalpVector is as long as the way along the scalp and points from p the way
// that leads to q.
func scalpVector(p, q r3.Vec) r3.Vec {
	out := r3.Unit(p)
	tangent := r3.Sub(q, r3.Scale(r3.Dot(q, out), out))
	if r3.Norm(tangent) == 0 {
		return r3.Vec{}
	}
	return r3.Scale(alongScalp(p, q), r3.Unit(tangent))
}
