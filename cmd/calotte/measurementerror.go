package main

import (
	"slices"
	"strings"

	"calotte/topo/contrast"
)

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

// sideErrorColumns are those that --measurement-errors adds to the table of
// asymmetry; contralateral where the sides are those of a stimulus.
func sideErrorColumns(contralateral bool) []string {
	if contralateral {
		return []string{"ipsilateral_sme", "contralateral_sme", "contralateral_minus_ipsilateral_sme"}
	}
	return []string{"left_sme", "right_sme", "right_minus_left_sme"}
}

// sideErrors are those of what was found, row by row, with
// --measurement-errors.
func (s *askedSides) sideErrors(contralateral bool) []contrast.SideError {
	if contralateral && s.sme {
		return contrast.SidedErrors(s.errors[0], s.errors[1])
	}
	return slices.Concat(s.errors...)
}

// sideErrorCells are those of a row.
func sideErrorCells(e contrast.SideError) []string {
	return []string{decimals(e.First, 4), decimals(e.Second, 4), decimals(e.Difference, 4)}
}
