package main

import (
	"math"
	"strconv"
	"strings"

	"calotte/topo/erp"
	"calotte/topo/measure"
)

// orNA is a number as R and pandas read it.
func orNA(v float64, err error) string {
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return "NA"
	}
	return strconv.FormatFloat(v, 'g', 8, 64)
}

// scores are what is measured of a wave; nil where there is nothing.
type scores struct {
	mean, peak, peakLatency, onset, area, areaLatency float64
	reasons                                           []string
}

func (f *componentsFlags) row(avg *erp.Average, units []*erp.Average, in measure.Window, p place) []string {
	s := f.scores(measure.Wave{Times: avg.Times, Values: p.mean(avg.Mean)}, in)
	if len(units) < 2 {
		return f.cells(avg, in, p.title, s, scores{}, 0, "", math.NaN())
	}
	over := "epochs"
	if avg.Info.Kind == erp.GrandAverage {
		over = "people"
	}
	return f.cells(avg, in, p.title, s, f.errors(avg, units, in, p), len(units), over, math.NaN())
}

// cells are a row of the table: scores and, where there are units, their standard errors.
func (f *componentsFlags) cells(avg *erp.Average, in measure.Window, place string, s, e scores, n int, over string, unlike float64) []string {
	count, note := "NA", strings.Join(s.reasons, "; ")
	if over == "" {
		nan := math.NaN()
		over, e = "NA", scores{nan, nan, nan, nan, nan, nan, nil}
	} else {
		count = strconv.Itoa(n)
	}
	if note == "" {
		note = "NA"
	}
	out := []string{avg.Info.Name, avg.Info.Title(), in.Name, place, in.Polarity.String(), orNA(float64(in.Span.From), nil), orNA(float64(in.Span.To), nil), count, over}
	for _, v := range []float64{
		s.mean, e.mean, s.peak, e.peak, s.peakLatency, e.peakLatency, s.onset, e.onset, s.area, e.area, s.areaLatency, e.areaLatency, unlike,
	} {
		out = append(out, orNA(v, nil))
	}
	return append(out, note)
}

// errors are the standard errors of scores by the jackknife over the units, which for the
// mean is the usual one; NaN where one of the averages without a unit has no such score.
func (f *componentsFlags) errors(avg *erp.Average, units []*erp.Average, in measure.Window, p place) scores {
	count := float64(len(units))
	total := p.mean(avg.Mean)
	var left []scores
	for _, u := range units {
		own := p.mean(u.Mean)
		wave := make([]float64, len(total))
		for i := range wave {
			wave[i] = (count*total[i] - own[i]) / (count - 1)
		}
		left = append(left, f.scores(measure.Wave{Times: avg.Times, Values: wave}, in))
	}
	spread := func(of func(scores) float64) float64 {
		var list []float64
		for _, s := range left {
			list = append(list, of(s))
		}
		return measure.JackknifeError(list)
	}
	return scores{
		mean: spread(func(s scores) float64 { return s.mean }),
		peak: spread(func(s scores) float64 { return s.peak }), peakLatency: spread(func(s scores) float64 { return s.peakLatency }),
		onset: spread(func(s scores) float64 { return s.onset }),
		area:  spread(func(s scores) float64 { return s.area }), areaLatency: spread(func(s scores) float64 { return s.areaLatency }),
	}
}

func (f *componentsFlags) scores(w measure.Wave, in measure.Window) scores {
	nan := math.NaN()
	s := scores{nan, nan, nan, nan, nan, nan, nil}
	keep := func(to *float64, v float64, what string, err error) {
		if err != nil {
			s.reasons = append(s.reasons, what+": "+err.Error())
			return
		}
		*to = v
	}
	mean, err := w.Mean(in.Span)
	keep(&s.mean, mean, "mean", err)
	peak, err := w.Peak(in.Span, in.Polarity)
	keep(&s.peak, peak.Amplitude, "peak", err)
	if err == nil {
		s.peakLatency = peak.Latency
		onset, err := w.Onset(peak, f.onset)
		keep(&s.onset, onset, "onset", err)
	}
	area, err := w.Area(in.Span, in.Polarity)
	keep(&s.area, area, "area", err)
	latency, err := w.FractionalArea(in.Span, in.Polarity, f.fraction)
	keep(&s.areaLatency, latency, "area latency", err)
	return s
}
