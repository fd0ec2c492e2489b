package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/console"
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

const (
	conditionsDiffer differenceOf = "conditions"
	sidesDiffer      differenceOf = "sides"
)

// differenceOf says between what scores are compared.
type differenceOf string

// differenceColumns are those of --difference.
var differenceColumns = strings.Fields("name compared component place score difference se t p low high n " +
	"within_difference within_se within_t within_p within_low within_high within_n")

// differences are the rows of --difference, and what they say of latencies in
// words.
func (f *componentsFlags) differences(ctx context.Context, scoring contrast.Scoring, inputs *averages.Tables,
	windows []measure.Window) (rows [][]string, words []string, err error) {
	var samples []contrast.Sample
	for i, path := range inputs.Paths {
		of := contrast.Sample{Average: inputs.Averages[i]}
		if of.Average.Info.Kind != average.GrandAverage {
			return nil, nil, fmt.Errorf("%s is no grand average: --difference takes those, and the "+
				"people behind "+
				"them", path)
		}
		var read []string
		if of.Units, read, err = inputs.Members(ctx, i); err != nil {
			return nil, nil, err
		}
		inputs.Files = append(inputs.Files, read...)
		samples = append(samples, of)
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
	if f.difference == sidesDiffer {
		sides := contrast.Sides{Of: f.sites, Pools: f.pools.List()}
		for _, of := range samples {
			found, err := scoring.BetweenSides(of, sides, windows)
			if err != nil {
				return nil, nil, err
			}
			add(of.Average.Info, of.Average.Info.Title()+": right minus left", found)
		}
		return rows, words, nil
	}
	if len(samples) != 2 {
		return nil, nil, fmt.Errorf("--difference conditions takes two grand averages, not %d", len(samples))
	}
	found, err := scoring.BetweenConditions(samples[0], samples[1], windows)
	if err != nil {
		return nil, nil, err
	}
	add(samples[0].Average.Info, samples[0].Average.Info.Title()+" minus "+samples[1].Average.Info.Title(), found)
	return rows, words, nil
}

// mostWords is how many lines of words are printed, so that they fit a screen.
const mostWords = 12

// sayFew prints lines, as far as they fit a screen.
func sayFew(w io.Writer, lines []string) {
	for _, line := range lines[:min(mostWords, len(lines))] {
		console.Say(w, "%s\n", line)
	}
	if more := len(lines) - mostWords; more > 0 {
		fmt.Fprintf(w, "and %s\n", console.Plural(more, "line more", "lines more"))
	}
}

// print writes a table to standard output.
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
