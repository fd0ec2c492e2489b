package fields

import (
	"slices"

	"calotte/layout"
	"calotte/render/scalp"
	"calotte/topo/erp/average"
)

// Row is a row of maps of an average.
func (f *Fields) Row(i int, avg *average.Average, title string) (scalp.Row, error) {
	spline, err := f.Spline(avg)
	if err != nil {
		return scalp.Row{}, err
	}
	amplitudes, err := f.Amplitudes(avg)
	if err != nil {
		return scalp.Row{}, err
	}
	sites, err := f.Head.Sites(avg.Sites)
	if err != nil {
		return scalp.Row{}, err
	}
	row := scalp.Row{Title: title, Note: avg.Info.Extent(), Spline: spline, Values: amplitudes,
		Marks: Marks(avg, sites), Difference: avg.Info.Minus != ""}
	if f.units != nil {
		sample := f.Sample(i)
		row.Freedom = sample.Freedom()
		row.Spread, err = sample.Spread(f.At)
	}
	return row, err
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
