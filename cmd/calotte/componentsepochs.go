package main

import (
	"errors"
	"strconv"
	"strings"

	"calotte/topo/contrast"
	"calotte/topo/erp/average"
	"calotte/topo/measure"
)

// epochColumns are those of --each-epoch.
var epochColumns = strings.Fields("name condition component site epoch mean")

// eachEpochCells are the rows of the epochs behind a person's average.
func eachEpochCells(scoring contrast.Scoring, of contrast.Sample, windows []measure.Window) ([][]string, error) {
	if len(of.Units) == 0 || of.Average.Info.Kind == average.GrandAverage {
		return nil, errors.New("--each-epoch needs the saved epochs of one person: average with --save-epochs")
	}
	epochs, err := scoring.Epochs(of, windows)
	return epochCells(of.Average.Info, epochs), err
}

// epochCells are the rows of the table of --each-epoch.
func epochCells(info average.Info, list []contrast.EpochScore) [][]string {
	var rows [][]string
	for _, e := range list {
		rows = append(rows, []string{info.Name, info.Title(), e.Window.Name, e.Place, strconv.Itoa(e.Epoch),
			orNA(e.Mean)})
	}
	return rows
}
