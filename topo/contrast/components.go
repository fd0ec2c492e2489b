package contrast

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"calotte/layout"
	"calotte/topo"
	"calotte/topo/erp/average"
	"calotte/topo/measure"
	"calotte/topo/unit"
)

// Scoring says where components are measured, and how some scores are defined.
type Scoring struct {
	Sites    []layout.Name  // without these and pools: the sites that a window declares, else all
	Pools    []measure.Pool // beside the sites
	Fraction float64        // of the area whose latency is taken; zero: half
	Onset    float64        // of the peak at which a component begins; zero: half
	// Spline goes through the sites of the averages, on the wearer's head;
	// needed with Placement alone. That is what is known of the poses of
	// all caps: then scores are those at the ideal sites; nil: nothing.
	Spline    *topo.Spline
	Placement *Placement
}

// FieldPower is the place of the scores of the field power.
const FieldPower = "field power"

// A Component is what was measured of an average in a window at a place.
type Component struct {
	Window measure.Window
	Place  string // a site as it is written, the name of a pool, or [FieldPower]
	Scores
	Errors Scores // standard errors, over the sample's units
	N      int    // of the units; 0: there are none
	Over   string // what they are
	// Placed are the errors of the mean by placement and interpolation;
	// nil: not known, or of the field power.
	Placed *PlacedError
	// Dissimilarity is how unlike the mean map of the window is to that of
	// another average, of the field power only, see
	// [measure.Dissimilarity].
	Dissimilarity float64
}

// places are the sites and pools of a window.
func (s Scoring) places(written []string, w measure.Window) ([]measure.Place, error) {
	sites := s.Sites
	if len(sites)+len(s.Pools) == 0 && len(w.Sites) > 0 {
		sites = layout.Names(w.Sites)
	}
	if len(sites)+len(s.Pools) == 0 {
		sites = layout.Names(written)
	}
	return measure.Places(written, sites, s.Pools)
}

// Components measures a sample in some windows, at each place and of the field
// power, in this order. Where the sample has two units or more, standard errors
// are by the jackknife over them (J. Miller, T. Patterson and R. Ulrich 1998),
// which for the mean is the usual one. The maps of its windows are compared
// with those of the average other; nil, or one of other sites: they are not.
func (s Scoring) Components(of Sample, other *average.Average, windows []measure.Window) ([]Component, error) {
	recorded := of
	if s.Placement != nil {
		var err error
		if of, err = s.Placement.AtIdeal(recorded, s.Spline); err != nil {
			return nil, err
		}
		if other == recorded.Average {
			other = of.Average
		}
	}
	var out []Component
	for _, w := range windows {
		places, err := s.places(of.Average.Sites, w)
		if err != nil {
			return nil, err
		}
		first := len(out)
		for _, p := range places {
			out = append(out, s.component(of, w, p))
		}
		if err := s.place(out[first:], recorded, places, w); err != nil {
			return nil, err
		}
		out = append(out, s.power(of.Average, other, w))
	}
	return out, nil
}

// place adds the errors of the means in a window at places, one component each.
func (s Scoring) place(components []Component, recorded Sample, places []measure.Place, w measure.Window) error {
	if s.Placement == nil {
		return nil
	}
	sites := s.Spline.Sites()
	var readings []Reading
	for _, p := range places {
		var r Reading
		for _, i := range p.Rows {
			r.Places = append(r.Places, sites[i].Position)
			r.Weights = append(r.Weights, 1/float64(len(p.Rows)))
		}
		readings = append(readings, r)
	}
	errors, err := s.Placement.Errors(recorded, s.Spline, readings, []unit.Latency{{Span: w.Span}})
	if err != nil {
		return err
	}
	for i := range components {
		errors[i][0].Sampling = components[i].Errors.Mean
		components[i].Placed = &errors[i][0]
	}
	return nil
}

func (s Scoring) component(of Sample, w measure.Window, p measure.Place) Component {
	c := Component{Window: w, Place: p.Title, Errors: noScores(), Dissimilarity: math.NaN()}
	c.Scores = s.scores(measure.Wave{Times: of.Average.Times, Values: p.Wave(of.Average.Mean)}, w)
	if len(of.Units) >= 2 {
		c.N, c.Over, c.Errors = len(of.Units), of.Over(), s.errors(of, w, p)
	}
	return c
}

// power is that of the field power.
func (s Scoring) power(avg, other *average.Average, w measure.Window) Component {
	w.Polarity = measure.Positive
	c := Component{Window: w, Place: FieldPower, Errors: noScores(), Dissimilarity: math.NaN()}
	c.Scores = s.scores(measure.Wave{Times: avg.Times, Values: measure.FieldPowers(avg.Mean)}, w)
	if other != nil && avg != other && slices.Equal(avg.Sites, other.Sites) {
		one, err1 := avg.At(unit.Latency{Span: w.Span})
		two, err2 := other.At(unit.Latency{Span: w.Span})
		if err1 == nil && err2 == nil {
			c.Dissimilarity = measure.Dissimilarity(one, two)
		}
	}
	return c
}

// An EpochScore is the mean of one epoch in a window at a place.
type EpochScore struct {
	Window measure.Window
	Place  string
	Epoch  int     // from 1, of those kept
	Mean   float64 // µV; NaN: the window holds no sample
}

// Epochs are the means of the units of one person, for mixed models: window by
// window, place by place, epoch by epoch.
func (s Scoring) Epochs(of Sample, windows []measure.Window) ([]EpochScore, error) {
	var out []EpochScore
	for _, w := range windows {
		places, err := s.places(of.Average.Sites, w)
		if err != nil {
			return nil, err
		}
		for _, p := range places {
			for k, u := range of.Units {
				mean, err := measure.Wave{Times: of.Average.Times, Values: p.Wave(u.Mean)}.Mean(w.Span)
				if err != nil {
					mean = math.NaN()
				}
				out = append(out, EpochScore{w, p.Title, k + 1, mean})
			}
		}
	}
	return out, nil
}

// An AverageError is about one of several averages.
type AverageError struct {
	Index int // from 0
	Err   error
}

func (e *AverageError) Error() string { return fmt.Sprintf("average %d: %v", e.Index+1, e.Err) }

// Unwrap returns what is wrong.
func (e *AverageError) Unwrap() error { return e.Err }

// ErrOtherSamples is of an average whose samples are not those of the first.
var ErrOtherSamples = errors.New("it has other samples than the first: one latency for all needs the same")

// A WindowError says that a window has no peak that others could be laid about.
type WindowError struct {
	Window string
	Err    error
}

func (e *WindowError) Error() string {
	return fmt.Sprintf("%s: the mean over all averages has %v: widen the window", e.Window, e.Err)
}

// Unwrap returns why there is none.
func (e *WindowError) Unwrap() error { return e.Err }

// About gives each window's place to one about the peak, in the window, of the
// mean over all averages and places, half a width to each side, so that the
// latency is found blind to condition. What is wrong with an average is an
// *[AverageError], with a window a *[WindowError].
func (s Scoring) About(averages []*average.Average, windows []measure.Window,
	half unit.Time) ([]measure.Window, error) {
	if len(averages) == 0 {
		return nil, errors.New("no average is given")
	}
	out := slices.Clone(windows)
	for i, w := range windows {
		total, err := s.meanOver(averages, w)
		if err != nil {
			return nil, err
		}
		peak, err := (measure.Wave{Times: averages[0].Times, Values: total}).Peak(w.Span, w.Polarity)
		if err != nil {
			return nil, &WindowError{w.Name, err}
		}
		at := unit.Time(math.Round(peak.Latency*1e6) / 1e6)
		out[i].Span = unit.Span{From: at - half, To: at + half}
	}
	return out, nil
}

// meanOver is the mean wave over averages and the places of a window.
func (s Scoring) meanOver(averages []*average.Average, w measure.Window) ([]float64, error) {
	first := averages[0]
	total := make([]float64, len(first.Times))
	for k, avg := range averages {
		if !slices.Equal(avg.Times, first.Times) {
			return nil, &AverageError{k, ErrOtherSamples}
		}
		places, err := s.places(avg.Sites, w)
		if err != nil {
			return nil, &AverageError{k, err}
		}
		for _, p := range places {
			for j, v := range p.Wave(avg.Mean) {
				total[j] += v / float64(len(places)*len(averages))
			}
		}
	}
	return total, nil
}
