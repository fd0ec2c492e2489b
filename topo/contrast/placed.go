package contrast

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/topo"
	"calotte/topo/erp/average"
	"calotte/topo/unit"
)

// A Placement is what is known of how caps sat, of which readings take account.
type Placement struct {
	Poses map[string]Pose // of each person, by the name of the average
	// Shared is the covariance of what all caps share beside their poses,
	// such as one technician's way of seating them.
	Shared layout.PoseCovariance
	// where the two are from: "5 mm, assumed"
	PoseWords, SharedWords string
}

// pose is that of a person.
func (p *Placement) pose(name string) (Pose, error) {
	pose, ok := p.Poses[name]
	if !ok {
		return pose, fmt.Errorf("nothing is known of how the cap of %s sat", name)
	}
	return pose, nil
}

// AtIdeal is a sample as it would have been read at the ideal sites: each
// person's field, from where the electrodes were. The spline is that through
// the ideal sites. The standard errors that an average of one person keeps of
// its pairs stay those of the electrodes, which a small turn hardly changes.
func (p *Placement) AtIdeal(of Sample, spline *topo.Spline) (Sample, error) {
	out := Sample{Title: of.Title}
	var err error
	if of.Average.Info.Kind != average.GrandAverage {
		step, err := p.step(of.Average.Info.Name, of.Average.Sites, spline)
		if err != nil || step == nil {
			return of, err
		}
		if out.Average, err = of.Average.Through(*step, nil); err != nil {
			return of, err
		}
		for _, u := range of.Units {
			if u, err = u.Through(*step, nil); err != nil {
				return of, err
			}
			out.Units = append(out.Units, u)
		}
		return out, nil
	}
	if len(of.Units) == 0 {
		return of, errors.New("how the caps of a group sat takes the people behind it")
	}
	moved := false
	for _, u := range of.Units {
		step, err := p.step(u.Info.Name, u.Sites, spline)
		if err != nil {
			return of, err
		}
		if step != nil {
			moved = true
			if u, err = u.Through(*step, nil); err != nil {
				return of, err
			}
		}
		out.Units = append(out.Units, u)
	}
	if !moved {
		return of, nil
	}
	out.Average, err = average.Grand(of.Average.Info.Name, out.Units, false)
	if err != nil {
		return of, err
	}
	out.Average.Info = of.Average.Info
	return out, nil
}

// step takes a person's average to the ideal sites; nil: it is there.
func (p *Placement) step(name string, sites []string, spline *topo.Spline) (*average.Linear, error) {
	pose, err := p.pose(name)
	if err != nil || pose.Turn == (r3.Vec{}) {
		return nil, err
	}
	var at []r3.Vec
	for _, s := range spline.Sites() {
		at = append(at, Turned(r3.Scale(-1, pose.Turn))(s.Position))
	}
	weights, err := spline.Weights(at, topo.Potential)
	return &average.Linear{Sites: sites, Weights: weights, KeepsPairs: true}, err
}

// A PlacedError is what a reading's error is made of where placement is known.
type PlacedError struct {
	Uncertainty
	// Own is the standard error, in µV, by which caps that sat each in its
	// own way spread the people of a group. It is in Sampling already; NaN
	// of one person.
	Own float64
	// where the poses, and what all share, are known from
	PoseWords, SharedWords string
}

// OwnShare is the part of the square of the sampling error that is caps sitting
// each in its own way; NaN of one person.
func (e PlacedError) OwnShare() float64 { return e.Own / e.Sampling * e.Own / e.Sampling }

// Errors are those of readings of a sample at the ideal sites, reading ×
// latency, but for the sampling. Of one person it is the whole error of the
// pose, and that of the spline at the places read. Of a group it is what all
// caps share; what is each cap's own, that of its spline among it, is in the
// spread of the people.
func (p *Placement) Errors(of Sample, spline *topo.Spline, readings []Reading, at []unit.Latency) ([][]PlacedError,
	error) {
	if of.Average.Info.Kind != average.GrandAverage {
		pose, err := p.pose(of.Average.Info.Name)
		if err != nil {
			return nil, err
		}
		pose.Covariance = pose.Covariance.Plus(p.Shared)
		return pose.errorsOf(of.Average, spline, readings, at)
	}
	placed, err := p.AtIdeal(of, spline)
	if err != nil {
		return nil, err
	}
	out, err := Pose{Covariance: p.Shared}.errorsOf(placed.Average, spline, readings, at)
	if err != nil {
		return nil, err
	}
	n := float64(len(of.Units))
	for i := range out {
		for j := range out[i] {
			out[i][j].Own = 0
		}
	}
	for _, u := range of.Units {
		pose, err := p.pose(u.Info.Name)
		if err != nil {
			return nil, err
		}
		own, err := pose.errorsOf(u, spline, readings, at)
		if err != nil {
			return nil, err
		}
		for i := range out {
			for j := range out[i] {
				out[i][j].Own = math.Hypot(out[i][j].Own, own[i][j].Placement/n)
			}
		}
	}
	return out, nil
}

// errorsOf are those of readings of an average that was recorded in a pose.
func (p Pose) errorsOf(avg *average.Average, spline *topo.Spline, readings []Reading,
	at []unit.Latency) ([][]PlacedError, error) {
	amplitudes, err := amplitudesAt(avg, at)
	if err != nil {
		return nil, err
	}
	c, err := spline.Solve(amplitudes)
	if err != nil {
		return nil, err
	}
	rough, err := spline.Roughness(amplitudes)
	if err != nil {
		return nil, err
	}
	out := make([][]PlacedError, len(readings))
	for i, r := range readings {
		found, err := p.Errors(spline, c, rough, r)
		if err != nil {
			return nil, err
		}
		for _, u := range found {
			out[i] = append(out[i], PlacedError{Uncertainty: u, Own: math.NaN()})
		}
	}
	return out, nil
}

// atIdeal is a sample at the ideal sites, where anything is known of its poses.
func (s Sides) atIdeal(of Sample) (Sample, error) {
	if s.Placement == nil {
		return of, nil
	}
	if s.Spline == nil {
		return of, errNoSpline
	}
	return s.Placement.AtIdeal(of, s.Spline)
}

// placedErrors are those of pairs, pair × latency; nil where nothing is known
// of the poses.
func (s Sides) placedErrors(recorded Sample, pairs []SidePair, at []unit.Latency) ([][]PlacedError, error) {
	if s.Placement == nil {
		return nil, nil
	}
	sites := s.Spline.Sites()
	var readings []Reading
	for _, p := range pairs {
		readings = append(readings, p.Reading(sites))
	}
	return s.Placement.Errors(recorded, s.Spline, readings, at)
}

// place adds what the placement of the caps does to the pairs of one latency,
// where it is known.
func (s Sides) place(rows []Asymmetry, errors [][]PlacedError, column int) {
	for k := range errors {
		a, e := &rows[k], errors[k][column]
		e.Sampling, e.PoseWords, e.SharedWords = a.SEM, s.Placement.PoseWords, s.Placement.SharedWords
		a.Placed = &e
		if a.N > 1 {
			half := e.half(a.N)
			a.Low, a.High = a.Difference-half, a.Difference+half
			a.Joint = math.Hypot(a.Joint, math.Sqrt(half*half-math.Pow(halfInterval(a.N)*e.Sampling, 2)))
		}
	}
}
