package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/fields"
	"calotte/topo/contrast"
	"calotte/topo/erp/average"
	"calotte/topo/erp/epoch"
	"calotte/topo/measure"
)

var (
	componentColumns = strings.Fields("name condition component site polarity from to n over mean mean_se peak " +
		"peak_se peak_latency peak_latency_se onset onset_se area area_se area_latency area_latency_se " +
		"dissimilarity note")
	placedColumns = strings.Fields("mean_interpolation_se mean_placement_se") // with --placement
)

// orNA is a number as R and pandas read it.
func orNA(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "NA"
	}
	return strconv.FormatFloat(v, 'g', 8, 64)
}

// componentCells are the rows of the table.
func componentCells(info average.Info, list []contrast.Component, placed bool) [][]string {
	var rows [][]string
	for _, c := range list {
		n, over, note := "NA", "NA", "NA"
		if c.N > 0 {
			n, over = strconv.Itoa(c.N), c.Over
		}
		if len(c.Reasons) > 0 {
			note = strings.Join(c.Reasons, "; ")
		}
		row := []string{info.Name, info.Title(), c.Window.Name, c.Place, c.Window.Polarity.String(),
			orNA(float64(c.Window.Span.From)), orNA(float64(c.Window.Span.To)), n, over}
		for _, v := range []float64{
			c.Mean, c.Errors.Mean, c.Peak, c.Errors.Peak, c.PeakLatency, c.Errors.PeakLatency, c.Onset,
			c.Errors.Onset,
			c.Area, c.Errors.Area, c.AreaLatency, c.Errors.AreaLatency, c.Dissimilarity,
		} {
			row = append(row, orNA(v))
		}
		row = append(row, note)
		if placed && c.Placed != nil {
			row = append(row, orNA(c.Placed.Interpolation), orNA(c.Placed.Placement))
		} else if placed { // the field power
			row = append(row, "NA", "NA")
		}
		rows = append(rows, row)
	}
	return rows
}

// smeColumns are those that --measurement-errors adds to the table of
// components.
var smeColumns = strings.Fields("mean_sme peak_sme peak_latency_sme onset_sme area_sme area_latency_sme")

// scoreErrorCells are those of --measurement-errors, in the order of
// smeColumns.
func scoreErrorCells(e contrast.Scores) []string {
	var out []string
	for _, v := range []float64{e.Mean, e.Peak, e.PeakLatency, e.Onset, e.Area, e.AreaLatency} {
		out = append(out, orNA(v))
	}
	return out
}

// epochColumns are those of --each-epoch, before those of the events.
var epochColumns = strings.Fields(
	"participant condition recording onset response_time epoch component site mean")

// eachEpoch is the table of all epochs: a row for each average, window, place
// and epoch.
func eachEpoch(ctx context.Context, scoring contrast.Scoring, inputs *averages.Tables,
	windows []measure.Window) (columns []string, cells [][]string, err error) {
	var trials []epoch.Row // of each row of the table
	for i, path := range inputs.Paths {
		if err := ctx.Err(); err != nil {
			return nil, nil, err
		}
		of, rows, err := inputs.Trials(i)
		if err == nil && len(rows) == 0 {
			err = errors.New("--each-epoch needs the saved epochs of one person in one condition: " +
				"average with " +
				"--save-epochs")
		}
		if err != nil {
			return nil, nil, fmt.Errorf("%s: %w", path, err)
		}
		scores, err := scoring.Epochs(of, windows)
		if err != nil {
			return nil, nil, fmt.Errorf("%s: %w", path, err)
		}
		info := of.Average.Info
		for _, s := range scores {
			row := rows[s.Epoch-1]
			trials = append(trials, row)
			cells = append(cells, []string{info.Name, info.Title(), cellOrNA(row.Source), orNA(row.Onset),
				orNA(row.Response), strconv.Itoa(s.Epoch), s.Window.Name, s.Place, orNA(s.Mean)})
		}
	}
	names := epoch.EventNames(trials)
	columns = append(columns, epochColumns...)
	for _, n := range names {
		columns = append(columns, epoch.EventPrefix+n)
	}
	for k, row := range trials {
		values := row.EventValues()
		for _, n := range names {
			cells[k] = append(cells[k], cellOrNA(values[n]))
		}
	}
	return columns, cells, nil
}

// cellOrNA is a text as R and pandas read it.
func cellOrNA(text string) string {
	if text == "" || text == "n/a" {
		return "NA"
	}
	return text
}

// differenceColumns are those of --difference.
var differenceColumns = strings.Fields("name compared component place score difference se t p low high n " +
	"within_difference within_se within_t within_p within_low within_high within_n")

// grandAverages are those that --difference takes, with the people behind them.
func grandAverages(ctx context.Context, inputs *averages.Tables) (samples []contrast.Sample, err error) {
	for i, path := range inputs.Paths {
		of := contrast.Sample{Average: inputs.Averages[i]}
		if of.Average.Info.Kind != average.GrandAverage {
			return nil, fmt.Errorf("%s is no grand average: --difference takes those, and the "+
				"people behind "+
				"them", path)
		}
		var read []string
		if of.Units, read, err = inputs.Members(ctx, i); err != nil {
			return nil, err
		}
		inputs.Files = append(inputs.Files, read...)
		samples = append(samples, of)
	}
	return samples, nil
}

// differences are the rows of --difference with one factor, and what they say of
// latencies in words.
func (f *componentsFlags) differences(ctx context.Context, scoring contrast.Scoring, inputs *averages.Tables,
	windows []measure.Window) (rows [][]string, words []string, err error) {
	samples, err := grandAverages(ctx, inputs)
	if err != nil {
		return nil, nil, err
	}
	add := func(of average.Info, compared string, found []contrast.ScoreDifference) {
		for _, d := range found {
			row := []string{of.Name, compared, d.Window.Name, d.Place, d.Score}
			for _, test := range []contrast.ScoreTest{d.Jackknifed, d.Within} {
				for _, v := range []float64{test.Difference, test.SE, test.T, test.P, test.Low,
					test.High} {
					row = append(row, orNA(v))
				}
				row = append(row, strconv.Itoa(test.N))
			}
			rows = append(rows, row)
			if line := d.Words(); line != "" {
				words = append(words, compared+", "+line)
			}
		}
	}
	if f.difference[0] == contrast.BySides {
		sides := contrast.Sides{Of: f.sites, Pools: f.pools.List()}
		for _, of := range samples {
			found, err := scoring.BetweenSides(of, sides, windows)
			if err != nil {
				return nil, nil, err
			}
			add(of.Average.Info, of.Average.Info.Title()+": right minus left", found)
		}
		return rows, few(words), nil
	}
	if len(samples) != 2 {
		return nil, nil, fmt.Errorf("--difference conditions takes two grand averages, not %d", len(samples))
	}
	found, err := scoring.BetweenConditions(samples[0], samples[1], windows)
	if err != nil {
		return nil, nil, err
	}
	add(samples[0].Average.Info, samples[0].Average.Info.Title()+" minus "+samples[1].Average.Info.Title(), found)
	return rows, few(words), nil
}

// crossedColumns are those of --difference with two factors.
var crossedColumns = strings.Fields("name compared component place score effect first second value se t df p low " +
	"high n n_other note")

// crossed are the rows of --difference with two factors, and what they say in
// words.
func crossed(ctx context.Context, asked contrast.TwoFactors, inputs *averages.Tables,
	windows []measure.Window) (rows [][]string, words []string, err error) {
	samples, err := grandAverages(ctx, inputs)
	if err != nil {
		return nil, nil, err
	}
	found, err := asked.Run(ctx, samples, windows)
	if already, ok := errors.AsType[*contrast.DifferenceError](err); ok {
		err = fmt.Errorf("%s %s", inputs.Paths[already.Index], already.Problem())
	}
	if _, ok := errors.AsType[*contrast.FactorsError](err); ok {
		err = fmt.Errorf("--difference %w", err)
	}
	if err != nil {
		return nil, nil, err
	}
	name := samples[0].Average.Info.Name
	if asked.Second == contrast.ByGroups {
		name = strings.Join(found[0].Levels[1][:], ", ")
	}
	if len(found) == len(contrast.ScoreNames) { // of one place in one window
		words = found[0].Lines()
	}
	var sentences []string
	for _, x := range found {
		rows = append(rows, crossedCells(name, x)...)
		sentences = append(sentences, x.Words())
	}
	words = append(words, few(sentences)...)
	if out := found[0].LeftOut; out != nil {
		words = append(words, "left out: "+someOf(out))
	}
	if how := asked.TestWords(found); how != "" {
		words = append(words, how)
	}
	return rows, words, nil
}

// crossedCells are the rows of an interaction, one an effect.
func crossedCells(name string, x contrast.Interaction) [][]string {
	note := cellOrNA(strings.Join(x.LeftOut, "; "))
	if x.LeftOut != nil {
		note = "left out: " + note
	}
	var rows [][]string
	for _, e := range x.Effects {
		row := []string{name, x.Of.String(), x.Window.Name, x.Place, x.Score, e.Kind, e.Part[0], e.Part[1]}
		for _, v := range []float64{e.Value, e.SE, e.T, e.Freedom, e.P, e.Low, e.High} {
			row = append(row, orNA(v))
		}
		other := "NA"
		if len(e.People) == 2 {
			other = strconv.Itoa(e.People[1])
		}
		rows = append(rows, append(row, strconv.Itoa(e.People[0]), other, note))
	}
	return rows
}

func (f *componentsFlags) print(w io.Writer, t averages.SavedTable) error {
	if !f.format.JSON {
		return console.Table(w, t.Columns, t.Rows)
	}
	var rows []map[string]string
	for _, cells := range t.Rows {
		row := map[string]string{}
		for i, c := range t.Columns {
			row[c] = cells[i]
		}
		rows = append(rows, row)
	}
	return json.NewEncoder(w).Encode(rows)
}

// measured are the rows of all averages.
func (f *componentsFlags) measured(ctx context.Context, scoring contrast.Scoring, inputs *averages.Tables,
	over *fields.Fields, windows []measure.Window, seed uint64) (rows [][]string, err error) {
	for i, path := range inputs.Paths {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		own, err := f.ofAverage(ctx, scoring, inputs, over, i, windows, seed)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", path, err)
		}
		rows = append(rows, own...)
	}
	return rows, nil
}

func (f *componentsFlags) ofAverage(ctx context.Context, scoring contrast.Scoring, inputs *averages.Tables,
	over *fields.Fields, i int, windows []measure.Window, seed uint64) ([][]string, error) {
	sample := contrast.Sample{Average: inputs.Averages[i]}
	units, read, err := inputs.UnitsOf(ctx, i)
	_, absent := errors.AsType[*archive.NotHereError](err)
	if err != nil && (!absent || len(f.averages.Folders) > 0 || over != nil) {
		return nil, err
	}
	if absent { // then there are no errors, and that is all
		f.unknown = append(f.unknown, "Standard errors are NA: "+err.Error()+".")
	}
	inputs.Files = append(inputs.Files, read...)
	sample.Units = units
	if over != nil {
		if scoring.Spline, err = over.Spline(sample.Average); err != nil {
			return nil, err
		}
		read = append(read, inputs.Paths[i])
		if scoring.Placement, err = f.placement.Of(sample, over.Head.Radius, read, ""); err != nil {
			return nil, err
		}
	}
	components, err := scoring.Components(sample, inputs.Averages[0], windows)
	if err != nil {
		return nil, err
	}
	rows := componentCells(sample.Average.Info, components, over != nil)
	if f.sme {
		found, err := scoring.MeasurementErrors(ctx, inputs.Measured(ctx, i), windows, seed)
		if err != nil {
			return nil, err
		}
		for k, e := range found {
			rows[k] = append(rows[k], scoreErrorCells(e)...)
		}
	}
	return rows, nil
}

// mostWords is how many lines of words are printed, so that they fit a screen.
const mostWords = 12

// few are lines as far as they fit a screen.
func few(lines []string) []string {
	more := len(lines) - mostWords
	if more <= 0 {
		return lines
	}
	return append(slices.Clone(lines[:mostWords]), "and "+console.Plural(more, "line more", "lines more"))
}
