package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"calotte/cmd/internal/averages"
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
