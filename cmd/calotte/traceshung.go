package main

import (
	"bytes"
	"fmt"
	"math"
	"slices"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/fields"
	"calotte/cmd/internal/figure"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/wearer"
	"calotte/render/chart"
	"calotte/render/scalp"
	"calotte/topo/measure"
	"calotte/topo/unit"
)

// place gives the panels of sites their places on the head seen from above.
func (f *tracesFlags) place(figure *chart.Traces, head *wearer.Head, columns []string) error {
	places, err := measure.Places(columns, f.sites, nil)
	if err != nil {
		return err
	}
	var wanted []string
	for _, p := range places {
		wanted = append(wanted, p.Title)
	}
	sites, err := head.Sites(wanted)
	if err != nil {
		return err
	}
	view := scalp.TopView(head.Model)
	for _, s := range sites {
		figure.Places = append(figure.Places, view.Project(s.Position))
	}
	return nil
}

// mapsOf is the sheet of the windows' means, a row for each average.
func (f *tracesFlags) mapsOf(c *cobra.Command, t *averages.Tables, head *wearer.Head,
	windows option.WindowNames) (*scalp.Sheet, error) {
	when := fields.When{Windows: f.declared}
	for _, w := range windows {
		if latency := (unit.Latency{Span: w.Span}); !slices.Contains(when.At, latency) {
			when.At = append(when.At, latency)
		}
	}
	spline := fields.NewSpline()
	sheet, err := sheetOf(c.Context(), spline.Over(t, head, when), &figure.Marks{})
	if err != nil {
		return nil, err
	}
	for i, w := range windows {
		sheet.Columns[i] = w.Name
	}
	sheet.Remarks = slices.DeleteFunc(sheet.Remarks,
		func(r string) bool { return r == when.Windows.Remark("Latencies") })
	return sheet, nil
}

// numbersOfTraces are the curves with their bands.
func numbersOfTraces(drawn *chart.Traces) []figure.Numbers {
	return []figure.Numbers{{Name: "curves", Text: func() []byte {
		var b bytes.Buffer
		figure.Cells(&b, "panel", "curve", "time", "value", "low", "high")
		for _, panel := range drawn.Panels {
			for k, curve := range panel.Curves {
				for i, v := range curve.Values {
					low, high := math.NaN(), math.NaN()
					if curve.Band != nil {
						low, high = v-curve.Band[i], v+curve.Band[i]
					}
					figure.Cells(&b, panel.Title, drawn.Curves[k], drawn.Times[i], v,
						orMissing(low),
						orMissing(high))
				}
			}
			for k, row := range panel.Faint {
				for i, v := range row {
					figure.Cells(&b, panel.Title, fmt.Sprintf("site %d", k+1), drawn.Times[i], v,
						orMissing(math.NaN()),
						orMissing(math.NaN()))
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
