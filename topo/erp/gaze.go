package erp

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"calotte/layout"
	"calotte/topo/erp/average"
	"calotte/topo/erp/epoch"
	"calotte/topo/erp/eye"
	"calotte/topo/erp/internal/stat"
	"calotte/topo/erp/montage"
	"calotte/topo/unit"
)

// sidewaysChannel is the eye channel that looks sideways move: the second of
// those by which blinks are taken out, or the one that is labelled so; nil:
// none.
func (p *Pipeline) sidewaysChannel(m *montage.Montage) *eye.Channel {
	if len(p.Eyes) > 1 {
		return &p.Eyes[1]
	}
	if c, ok := eye.Sideways(m); ok {
		return &c
	}
	return nil
}

// A sidelong is where a recording shows looks sideways: an eye channel, or two
// sites that stand in for it.
type sidelong struct {
	source      string
	channel     []montage.Term // a sum of signals; nil: the sites stand in
	right, left int            // rows of the sites
}

// sidelong finds where a recording shows looks sideways; nil: nowhere. Sites
// that are repaired show what the others do.
func (pl *plan) sidelong() *sidelong {
	if pl.eyes != nil && pl.eyes.sideways != nil {
		return &sidelong{source: pl.eyes.sidewaysName, channel: pl.eyes.sideways}
	}
	row := func(name layout.Name) int {
		for i, n := range pl.montage.Names[:len(pl.montage.Sites)] {
			if n == name && !pl.chain.repaired[i] {
				return i
			}
		}
		return -1
	}
	for _, pair := range templePairs {
		if left, right := row(pair[0]), row(pair[1]); left >= 0 && right >= 0 {
			return &sidelong{source: fmt.Sprintf("%s minus %s", pair[1], pair[0]), left: left, right: right}
		}
	}
	return nil
}

// signal is the sideways signal of an epoch over its window, less its mean over
// the baseline, in µV. An eye channel is taken as it was recorded and filtered,
// sites as they are averaged.
func (s *sidelong) signal(e excerpt, c *chain, sites [][]float64) []float64 {
	out := make([]float64, c.window.Len())
	if s.channel == nil {
		floats.SubTo(out, sites[s.right], sites[s.left])
		return out
	}
	whole := make([]float64, len(e.samples[0]))
	for _, term := range s.channel {
		floats.AddScaled(whole, term.Weight, e.samples[term.Signal])
	}
	copy(out, whole[e.before:])
	if c.baseline.Rate > 0 {
		first := e.before + e.lag + c.baseline.First - c.window.First
		floats.AddConst(-stat.Mean(whole[first:][:c.baseline.Len()]), out)
	}
	return out
}

// A gaze accumulates what an [average.Gaze] needs of one condition.
type gaze struct {
	source   string
	standIn  bool
	from, to []int              // samples of the windows
	course   *epoch.Accumulator // of the signal
	windows  *epoch.Accumulator // of its means
	cross    []float64          // of each site: the sum of its products with the signal
	square   float64            // of the signal with itself
}

// gazeSpans are the windows in which the gaze is told: those that get a
// measurement error, else all the time after the event.
func (p *Pipeline) gazeSpans(w epoch.Window) []unit.Span {
	if len(p.Quality.Windows) > 0 {
		return p.Quality.Windows
	}
	last := unit.Time(float64(w.Last) / w.Rate)
	return []unit.Span{{From: min(max(0, unit.Time(float64(w.First)/w.Rate)), last), To: last}}
}

// newGaze returns nil where nothing shows looks sideways.
func (p *Pipeline) newGaze(s *sidelong, w epoch.Window, sites int) (*gaze, error) {
	if s == nil {
		return nil, nil
	}
	g := &gaze{source: s.source, standIn: s.channel == nil, course: epoch.NewAccumulator(1, w.Len()),
		cross: make([]float64, sites)}
	for _, span := range p.gazeSpans(w) {
		from, to, err := w.Within(span)
		if err != nil {
			return nil, fmt.Errorf("window: %w", err)
		}
		g.from, g.to = append(g.from, from), append(g.to, to)
	}
	g.windows = epoch.NewAccumulator(1, len(g.from))
	return g, nil
}

// add takes the signal of an epoch and its sites.
func (g *gaze) add(signal []float64, sites [][]float64) {
	g.course.Add([][]float64{signal})
	means := make([]float64, len(g.from))
	for k, from := range g.from {
		means[k] = stat.Mean(signal[from:g.to[k]])
	}
	g.windows.Add([][]float64{means})
	for i, row := range sites {
		g.cross[i] += floats.Dot(signal, row)
	}
	g.square += floats.Dot(signal, signal)
}

// mergeGazes adds the epochs of another recording. Where that shows looks by
// another signal, or by none, nothing is known of them all.
func (r *Result) mergeGazes(o *Result) error {
	if len(r.gazes) == 0 || len(o.gazes) == 0 || r.gazes[0].source != o.gazes[0].source {
		r.gazes = nil
		return nil
	}
	for i, g := range r.gazes {
		other := o.gazes[i]
		floats.Add(g.cross, other.cross)
		g.square += other.square
		if err := errors.Join(g.windows.Merge(other.windows), g.course.Merge(other.course)); err != nil {
			return err
		}
	}
	return nil
}

// spread adds to the sums of products about the average of the condition, whose
// sites have the means.
func (g *gaze) spread(cross []float64, means [][]float64) (square float64) {
	n, course := float64(g.course.N()), g.course.Mean()[0]
	for i, row := range means {
		cross[i] += g.cross[i] - n*floats.Dot(course, row)
	}
	return g.square - n*floats.Dot(course, course)
}

// gazeOf is what the averages of a condition hold of the gaze, nil where
// nothing is known of it.
func (r *Result) gazeOf(condition int) *average.Gaze {
	if len(r.gazes) == 0 {
		return nil
	}
	g := r.gazes[condition]
	out := &average.Gaze{Source: g.source, StandIn: g.standIn, Mean: thousandths(g.course.Mean()[0]),
		Weights: r.gazeWeights()}
	means, errors := g.windows.Mean()[0], g.windows.SEM()
	if sem := g.course.SEM(); sem != nil {
		out.Errors = thousandths(sem[0])
	}
	for k, span := range r.pipeline.gazeSpans(r.Window) {
		w := average.GazeWindow{Window: span.String(), Mean: means[k], N: g.windows.N()}
		if errors != nil {
			w.SEM = errors[0][k]
		}
		out.Windows = append(out.Windows, w)
	}
	return out
}

// gazeWeights are by how much each site follows the signal, over all
// conditions; nil where the signal does not move.
func (r *Result) gazeWeights() map[string]float64 {
	cross, square, total := make([]float64, len(r.Montage.Sites)), 0.0, 0.0
	for c, g := range r.gazes {
		if g.course.N() == 0 {
			continue
		}
		square += g.spread(cross, r.conditions[c].Whole().Mean()[:len(cross)])
		total += g.square
	}
	if square <= 1e-9*total { // rounding
		return nil
	}
	weights := map[string]float64{}
	for i, site := range r.Montage.Sites {
		weights[site] = math.Round(1e4*cross[i]/square) / 1e4
	}
	return weights
}

// thousandths are values to 0.001 µV, which is all that matters and keeps files
// small.
func thousandths(values []float64) []float64 {
	out := make([]float64, len(values))
	for i, v := range values {
		out[i] = math.Round(1e3*v) / 1e3
	}
	return out
}
