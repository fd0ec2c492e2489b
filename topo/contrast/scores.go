package contrast

import (
	"math"

	"calotte/topo/measure"
)

// Scores are what is measured of a component in a wave; NaN where there is
// nothing to measure.
type Scores struct {
	Mean        float64  // µV
	Peak        float64  // µV
	PeakLatency float64  // s
	Onset       float64  // s
	Area        float64  // µV·s
	AreaLatency float64  // s
	Reasons     []string // why scores are missing: "peak: no local peak in the window"
}

func noScores() Scores {
	nan := math.NaN()
	return Scores{nan, nan, nan, nan, nan, nan, nil}
}

// scores measures a wave in a window.
func (s Scoring) scores(w measure.Wave, in measure.Window) Scores {
	out := noScores()
	keep := func(to *float64, v float64, what string, err error) {
		if err != nil {
			out.Reasons = append(out.Reasons, what+": "+err.Error())
			return
		}
		*to = v
	}
	mean, err := w.Mean(in.Span)
	keep(&out.Mean, mean, "mean", err)
	peak, err := w.Peak(in.Span, in.Polarity)
	keep(&out.Peak, peak.Amplitude, "peak", err)
	if err == nil {
		out.PeakLatency = peak.Latency
		onset, err := w.Onset(peak, half(s.Onset))
		keep(&out.Onset, onset, "onset", err)
	}
	area, err := w.Area(in.Span, in.Polarity)
	keep(&out.Area, area, "area", err)
	latency, err := w.FractionalArea(in.Span, in.Polarity, half(s.Fraction))
	keep(&out.AreaLatency, latency, "area latency", err)
	return out
}

// half is the share, or half where none is given.
func half(share float64) float64 {
	if share == 0 {
		return .5
	}
	return share
}

// errors are the standard errors of scores by the jackknife over the units of a
// sample; NaN where one of the averages without a unit has no such score.
func (s Scoring) errors(of Sample, in measure.Window, p measure.Place) Scores {
	total := p.Wave(of.Average.Mean)
	var left []Scores
	for _, u := range of.Units {
		wave := leftOut(total, p.Wave(u.Mean), len(of.Units))
		left = append(left, s.scores(measure.Wave{Times: of.Average.Times, Values: wave}, in))
	}
	spread := func(score func(Scores) float64) float64 {
		var list []float64
		for _, l := range left {
			list = append(list, score(l))
		}
		return measure.JackknifeError(list)
	}
	return Scores{
		Mean:        spread(func(l Scores) float64 { return l.Mean }),
		Peak:        spread(func(l Scores) float64 { return l.Peak }),
		PeakLatency: spread(func(l Scores) float64 { return l.PeakLatency }),
		Onset:       spread(func(l Scores) float64 { return l.Onset }),
		Area:        spread(func(l Scores) float64 { return l.Area }),
		AreaLatency: spread(func(l Scores) float64 { return l.AreaLatency }),
	}
}
