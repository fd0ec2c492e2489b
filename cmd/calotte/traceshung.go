package main

import (
	"bytes"
	"fmt"
	"math"
	"slices"

	"github.com/spf13/cobra"

	"calotte/render/chart"
	"calotte/render/scalp"
	"calotte/topo/measure"
	"calotte/topo/unit"
)

// place gives the panels of sites their places on the head seen from above.
func (f *tracesFlags) place(figure *chart.Traces, head *headModel, columns []string) error {
	places, err := measure.Places(columns, f.sites, nil)
	if err != nil {
		return err
	}
	var wanted []string
	for _, p := range places {
		wanted = append(wanted, p.Title)
	}
	sites, err := head.sites(wanted)
	if err != nil {
		return err
	}
	view := scalp.TopView(head.model)
	for _, s := range sites {
		figure.Places = append(figure.Places, view.Project(s.Position))
	}
	return nil
}

// mapsOf is the sheet of the windows' means, a row for each average.
func (f *tracesFlags) mapsOf(c *cobra.Command, t *tables, head *headModel, windows windowNames) (*scalp.Sheet, error) {
	flags := newFieldFlags()
	flags.windows = f.declared
	for _, w := range windows {
		if latency := (unit.Latency{Span: w.span}); !slices.Contains(flags.at, latency) {
			flags.at = append(flags.at, latency)
		}
	}
	sheet, err := sheetOf(c.Context(), &fields{fieldFlags: &flags, tables: t, head: head}, &markFlag{})
	if err != nil {
		return nil, err
	}
	for i, w := range windows {
		sheet.Columns[i] = w.name
	}
	sheet.Remarks = slices.DeleteFunc(sheet.Remarks, func(r string) bool { return r == flags.windows.remark("Latencies") })
	return sheet, nil
}

// numbersOfTraces are the curves with their bands.
func numbersOfTraces(figure *chart.Traces) []numbersOf {
	return []numbersOf{{"curves", func() []byte {
		var b bytes.Buffer
		cells(&b, "panel", "curve", "time", "value", "low", "high")
		for _, panel := range figure.Panels {
			for k, curve := range panel.Curves {
				for i, v := range curve.Values {
					low, high := math.NaN(), math.NaN()
					if curve.Band != nil {
						low, high = v-curve.Band[i], v+curve.Band[i]
					}
					cells(&b, panel.Title, figure.Curves[k], figure.Times[i], v, orMissing(low), orMissing(high))
				}
			}
			for k, row := range panel.Faint {
				for i, v := range row {
					cells(&b, panel.Title, fmt.Sprintf("site %d", k+1), figure.Times[i], v, orMissing(math.NaN()), orMissing(math.NaN()))
				}
			}
		}
		return b.Bytes()
	}}}
}

// orMissing is a number as tables have it.
func orMissing(v float64) any {
	if math.IsNaN(v) {
		return "n/a"
	}
	return v
}
