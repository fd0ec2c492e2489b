package main

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/figure"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/wearer"
	"calotte/layout"
	"calotte/render/canvas"
	"calotte/render/chart"
	"calotte/topo/erp/average"
	"calotte/topo/erp/reject"
	"calotte/topo/filter"
	"calotte/topo/measure"
	"calotte/topo/provenance"
)

// drawn is a figure and what it was made of.
type drawn struct {
	figure  canvas.Figure
	what    string
	paths   []string // never to be written to
	sources []provenance.Source
	numbers []figure.Numbers
}

// drawResponse draws a filter.
func (a *app) drawResponse(c *cobra.Command, f *tracesFlags, _ []string) (*drawn, error) {
	if f.filter.IsZero() {
		return nil, console.Usagef("--response draws a filter: add --highpass, --lowpass or --notch")
	}
	if !(f.averages.Clock.Rate > 0) {
		return nil, console.Usagef("--response needs the sampling rate, since a filter depends on it: add " +
			"--rate 500Hz")
	}
	designed, err := filter.New(f.filter, float64(f.averages.Clock.Rate))
	if err != nil {
		return nil, err
	}
	response := &chart.Response{Filter: designed, Width: f.figure.Points()}
	plate, err := response.Compose()
	if err != nil {
		return nil, err
	}
	return &drawn{figure: plate, what: "response of a filter"}, nil
}

// drawEpochs draws the saved epochs of a condition.
func (a *app) drawEpochs(c *cobra.Command, f *tracesFlags, paths []string) (*drawn, error) {
	if len(paths) != 1 {
		return nil, console.Usagef("--epochs draws one condition: give one STEM_COND_epochs.npy")
	}
	saved, err := archive.OpenEpochs(paths[0])
	if err != nil {
		return nil, err
	}
	defer saved.Close()
	if !saved.Described {
		return nil, fmt.Errorf("%s says nothing of its sites and times: average it first, with --save-epochs",
			paths[0])
	}
	set := saved.Set
	places, err := f.places(set.Sites)
	if err != nil {
		return nil, err
	}
	times := set.Window.Times()
	from, to, err := f.part(times)
	if err != nil {
		return nil, err
	}
	picture := &chart.EpochPicture{
		Name: saved.Name + ", " + set.Condition, Site: places[0].Title, Times: times[from:to],
		Limit: float64(f.limit), Width: f.figure.Points(), Synthetic: set.Info.Synthetic,
		Remarks: []string{"Reference: " + average.OrNotKnown(set.Info.Reference) + "."},
	}
	answered := false
	for i, row := range set.Rows {
		if row.Kept {
			picture.Numbers = append(picture.Numbers, i+1)
			picture.Response = append(picture.Response, row.Response)
			answered = answered || !math.IsNaN(row.Response)
		}
	}
	if !answered {
		picture.Response = nil
	}
	for samples, err := range set.Epochs {
		if err == nil {
			err = c.Context().Err()
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", paths[0], err)
		}
		picture.Epochs = append(picture.Epochs, places[0].Wave(samples)[from:to])
		swing, at := 0.0, ""
		for i, row := range samples {
			if s := reject.SwingOf(row); s > swing || at == "" {
				swing, at = s, set.Sites[i]
			}
		}
		picture.Swings, picture.SwingsAt = append(picture.Swings, swing), append(picture.SwingsAt, at)
	}
	plate, err := picture.Compose()
	if err != nil {
		return nil, err
	}
	return &drawn{figure: plate, what: console.Plural(len(picture.Epochs), "epoch", "epochs"), paths: saved.Paths,
		sources: saved.Sources}, nil
}

// part is the range of samples to draw.
func (f *tracesFlags) part(times []float64) (from, to int, err error) {
	if f.during.To == f.during.From {
		return 0, len(times), nil
	}
	const tolerance = 1e-9
	from = slices.IndexFunc(times, func(t float64) bool { return t >= float64(f.during.From)-tolerance })
	to = len(times)
	for to > 0 && times[to-1] > float64(f.during.To)+tolerance {
		to--
	}
	if from < 0 || to-from < 2 {
		return 0, 0, fmt.Errorf("--during %v: the data reach from %.4g to %.4g s", f.during, times[0],
			times[len(times)-1])
	}
	return from, to, nil
}

// drawAverages draws waveforms.
func (a *app) drawAverages(c *cobra.Command, f *tracesFlags, paths []string) (*drawn, error) {
	if i := slices.IndexFunc(paths, isNumPy); i >= 0 {
		return nil, console.Usagef("%s holds epochs: add --epochs, or give averages", paths[i])
	}
	tables, err := f.averages.Read(a.Session, c, paths)
	if err != nil {
		return nil, err
	}
	tables.DifferencesLast()
	paths = tables.Paths
	titles, err := tables.Titles()
	if err != nil {
		return nil, err
	}
	first := tables.Averages[0]
	for i, avg := range tables.Averages {
		if !slices.Equal(avg.Times, first.Times) {
			return nil, fmt.Errorf("%s and %s have other samples (%.6g and %.6g Hz, or another epoch): "+
				"draw averages "+
				"of one rate and epoch", paths[0], paths[i], first.Rate(), avg.Rate())
		}
		if x, y := avg.Info.Reference, first.Info.Reference; x != "" && y != "" && x != y {
			return nil, fmt.Errorf("%s and %s have different references, %q and %q: bring them to one "+
				"before you "+
				"compare them", paths[0], paths[i], y, x)
		}
	}
	from, to, err := f.part(first.Times)
	if err != nil {
		return nil, err
	}
	figure := &chart.Traces{
		Times: first.Times[from:to], Limit: float64(f.limit), Down: f.down, Width: f.figure.Points(),
		Reference: first.Info.Reference,
	}
	if span, ok := first.Info.BaselineSpan(); ok && float64(span.To) > figure.Times[0] {
		figure.Baseline = &[2]float64{max(float64(span.From), figure.Times[0]), float64(span.To)}
	}
	windows := slices.Clone(f.windows)
	for _, d := range f.declared.Declared {
		windows = append(windows, option.WindowOf{Name: d.Name, Span: d.Span})
	}
	for _, w := range windows {
		if float64(w.Span.From) < figure.Times[0] || float64(w.Span.To) > figure.Times[len(figure.Times)-1] {
			return nil, fmt.Errorf("--window %v: what is drawn reaches from %.4g to %.4g s", w,
				figure.Times[0],
				figure.Times[len(figure.Times)-1])
		}
		figure.Windows = append(figure.Windows,
			chart.TraceWindow{Name: w.Name, From: float64(w.Span.From), To: float64(w.Span.To)})
	}
	for i, avg := range tables.Averages {
		figure.Synthetic = figure.Synthetic || avg.Info.Synthetic
		if text := avg.Info.Extent(); text != "" {
			figure.Remarks = append(figure.Remarks, titles[i]+": "+text+".")
		}
		for _, warning := range avg.Info.Warned() {
			figure.Remarks = append(figure.Remarks, titles[i]+": "+warning+".")
		}
	}
	if len(windows) > 0 {
		figure.Remarks = append(figure.Remarks, f.declared.Remark("Windows"))
	}
	var head *wearer.Head
	if f.maps || f.arrange == option.OnScalp {
		if head, err = f.head.Read(a.Session, c); err != nil {
			return nil, err
		}
	}
	if f.arrange == option.OnScalp {
		if f.sites == nil {
			f.sites = layout.Names(first.Sites)
		}
		if err := f.place(figure, head, first.Sites); err != nil {
			return nil, err
		}
	}
	if len(f.sites)+len(f.pools) == 0 {
		f.allSites(figure, tables.Averages, titles, from, to)
	} else if err := f.bySite(figure, tables.Averages, titles, paths, from, to); err != nil {
		return nil, err
	}
	out := &drawn{
		what:  console.Plural(len(figure.Panels), "panel", "panels") + " of waveforms",
		paths: tables.Files, sources: averages.Sources(tables.Averages), numbers: numbersOfTraces(figure),
	}
	if head != nil {
		out.paths, out.sources = append(out.paths, head.Paths...), append(out.sources, head.Sources...)
	}
	if f.maps {
		if figure.Maps, err = f.mapsOf(c, tables, head, windows); err != nil {
			return nil, err
		}
	}
	out.figure, err = figure.Compose()
	return out, err
}

// allSites makes a panel for each average, of all sites and their field power.
func (f *tracesFlags) allSites(figure *chart.Traces, averages []*average.Average, titles []string, from, to int) {
	figure.Curves = []string{"global field power (Lehmann & Skrandies 1980)"}
	for i, avg := range averages {
		var faint [][]float64
		for _, row := range avg.Mean {
			faint = append(faint, row[from:to])
		}
		title := titles[i]
		if title == "" {
			title = filepath.Base(avg.Info.Name)
		}
		figure.Panels = append(figure.Panels,
			chart.TracePanel{Title: title, Curves: []chart.Trace{{Values: measure.FieldPowers(faint)}},
				Faint: faint})
	}
}

// bySite makes a panel for each site and pool, with a curve for each average.
func (f *tracesFlags) bySite(figure *chart.Traces, averages []*average.Average, titles, paths []string,
	from, to int) error {
	figure.Curves = titles
	band := f.band
	if band == "" {
		band = option.Band95
		if slices.ContainsFunc(averages, func(a *average.Average) bool { return a.SEM == nil }) {
			band = option.NoBand
		}
	}
	paired := f.band == "" && band != option.NoBand && conditionsOfPeople(averages) > 1
	pooled := band != option.NoBand && len(f.pools) > 0
	if pooled && f.band != "" {
		return console.Usagef("--band %v: the error of a pool is not that of its sites, and is not known "+
			"from their "+
			"average: add --band none, or draw sites", f.band)
	}
	panels := map[string]int{}
	for i, avg := range averages {
		places, err := f.places(avg.Sites)
		if err != nil {
			return fmt.Errorf("%s: %w", paths[i], err)
		}
		half := 1.0
		if band != option.NoBand && avg.SEM == nil {
			return fmt.Errorf("%s has no standard errors, so there is no band: add --band none", paths[i])
		}
		if band == option.Band95 {
			if half, err = quantile95(avg); err != nil {
				return fmt.Errorf("%s: %w", paths[i], err)
			}
		}
		for k, p := range places {
			if i == 0 {
				panels[fmt.Sprint(k)] = len(figure.Panels)
				figure.Panels = append(figure.Panels,
					chart.TracePanel{Title: p.Title, Curves: make([]chart.Trace, len(averages))})
			}
			trace := chart.Trace{Values: p.Wave(avg.Mean)[from:to]}
			if band != option.NoBand && len(p.Rows) == 1 && (!paired || avg.Info.Minus != "") {
				for _, s := range avg.SEM[p.Rows[0]][from:to] {
					trace.Band = append(trace.Band, half*s)
				}
			}
			figure.Panels[k].Curves[i] = trace
		}
	}
	figure.Band = bandText(band, averages)
	if paired {
		figure.Band = ""
		if slices.ContainsFunc(averages, func(a *average.Average) bool { return a.Info.Minus != "" }) {
			figure.Band = "95\u00a0% intervals of the " + average.CentreWords(averages[0].Info.Outer()) +
				" difference (t) over people"
		} else {
			figure.Remarks = append(figure.Remarks,
				"No bands: these conditions are of the same people, so the band belongs to their "+
					"difference.")
		}
	}
	if !slices.ContainsFunc(figure.Panels, func(p chart.TracePanel) bool {
		return slices.ContainsFunc(p.Curves, func(c chart.Trace) bool { return c.Band != nil })
	}) {
		figure.Band = ""
	}
	if pooled {
		figure.Remarks = append(figure.Remarks,
			"Pools have no band: their error is not known from the average.")
	}
	return nil
}

// conditionsOfPeople counts the grand averages that are no differences.
func conditionsOfPeople(averages []*average.Average) int {
	n := 0
	for _, a := range averages {
		if a.Info.Kind == average.GrandAverage && a.Info.Minus == "" {
			n++
		}
	}
	return n
}

// quantile95 is the factor from a standard error to half a 95 % interval, by t.
func quantile95(avg *average.Average) (float64, error) {
	n := 0
	switch {
	case avg.Info.Kind == average.GrandAverage:
		n = len(avg.Info.Members)
	case avg.Info.Epochs != nil:
		n = avg.Info.Epochs.Kept
	}
	if n < 2 {
		return 0, fmt.Errorf("how many epochs or people are behind it is not known, so neither is a 95 " +
			"%% band: use " +
			"--band sem or none")
	}
	return avg.Info.Outer().HalfInterval(n), nil
}

// bandText names the band and what it is over.
func bandText(band option.BandKind, averages []*average.Average) string {
	if band == option.NoBand {
		return ""
	}
	over := "epochs of one person"
	if averages[0].Info.Kind == average.GrandAverage {
		over = "people"
	}
	centre := average.CentreWords(averages[0].Info.Outer())
	for _, a := range averages {
		if a.Info.Outer() != averages[0].Info.Outer() {
			centre = "mean, or of the centre that is named,"
		}
	}
	if band == option.SemBand {
		return "one standard error of the " + centre + " over " + over
	}
	return "95\u00a0% intervals of the " + centre + " (t) over " + over +
		", for each condition by itself, not for their difference"
}
