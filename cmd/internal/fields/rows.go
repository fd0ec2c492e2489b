package fields

import (
	"fmt"
	"math"
	"slices"

	"calotte/layout"
	"calotte/render/scalp"
	"calotte/topo/erp/average"
	"calotte/topo/measure"
)

// BaselinePower is the largest of the averages whose baseline is known, in µV.
func (f *Fields) BaselinePower() float64 {
	most := 0.0
	for _, avg := range f.Averages {
		if span, ok := avg.Info.BaselineSpan(); ok {
			most = max(most, measure.BaselinePower(avg.Times, avg.Mean, span))
		}
	}
	return most
}

// Remarks are what the reader has to know beside the maps. What does not hold
// for all rows begins with the row's title.
func (f *Fields) Remarks(titles []string) []string {
	texts := []string{f.Windows.Remark("Latencies")}
	if f.Head.Assumed && f.Head.Measured == nil {
		texts = append(texts, fmt.Sprintf("No head was measured: a sphere of %.0f mm is assumed.",
			f.Head.Head.Circumference))
	}
	holds := map[string]int{}
	for _, avg := range f.Averages {
		for _, r := range avg.Info.Remarks() {
			holds[r]++
		}
	}
	for i, avg := range f.Averages {
		for _, r := range avg.Info.Remarks() {
			if holds[r] < len(f.Averages) {
				r = titles[i] + ": " + r
			}
			if !slices.Contains(texts, r) {
				texts = append(texts, r)
			}
		}
		if avg.Info.Reference == "" && f.Reference() != "" {
			texts = append(texts, fmt.Sprintf("The reference of %s is not known.", titles[i]))
		}
	}
	return texts
}

// Row is a row of maps of an average.
func (f *Fields) Row(i int, avg *average.Average, title string) (scalp.Row, error) {
	spline, amplitudes, err := f.Spline(avg)
	if err != nil {
		return scalp.Row{}, err
	}
	sites, err := f.Head.Sites(avg.Sites)
	if err != nil {
		return scalp.Row{}, err
	}
	row := scalp.Row{Title: title, Note: avg.Info.Extent(), Spline: spline, Values: amplitudes,
		Marks: Marks(avg, sites), Difference: avg.Info.Minus != ""}
	if f.wantsUnits() {
		sample := f.Sample(i)
		row.Freedom = sample.Freedom()
		row.Spread, err = sample.Spread(f.At)
	}
	return row, err
}

// StandardError is the median over the maps whose errors are known, in µV; 0
// where none is.
func (f *Fields) StandardError() (float64, error) {
	var noise []float64
	for _, avg := range f.Averages {
		for _, at := range f.At {
			sem, err := avg.NoiseAt(at)
			if err != nil {
				return 0, err
			}
			if !math.IsNaN(sem) {
				noise = append(noise, sem)
			}
		}
	}
	if len(noise) == 0 {
		return 0, nil
	}
	return measure.Median(noise), nil
}

// Marks draws repaired sites of a person's average open. In a grand average
// each site is measured in most people; the remarks say the rest.
func Marks(avg *average.Average, sites []layout.Site) []scalp.Mark {
	out := scalp.MeasuredAt(sites)
	if avg.Info.Kind == average.GrandAverage {
		return out
	}
	for i := range out {
		if n, err := layout.Parse(sites[i].Name); err == nil && slices.Contains(avg.Info.Repaired, string(n)) {
			out[i].Kind = scalp.Repaired
		}
	}
	return out
}
