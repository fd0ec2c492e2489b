package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/cmd/internal/console"
	"calotte/layout"
	"calotte/topo"
	"calotte/topo/erp"
	"calotte/topo/unit"
)

type valuesFlags struct {
	field  fieldFlags
	sites  siteSet
	format format
	output string
}

func (a *app) values() *cobra.Command {
	f := valuesFlags{field: newFieldFlags()}
	c := &cobra.Command{
		Use:   "values AVERAGE…",
		Short: "Print the numbers behind the maps, at any site",
		Long: `Values reads the interpolated field at sites, recorded or not, at latencies or as the
mean over windows. The table has a row for each site, latency and average: name, x, y
and z in mm, at, value in µV (csd: µV/cm²), and the average it is from.`,
		Example: `  calotte values calotte-demo/averages/pilots_known_average.tsv --at 170ms --sites 10-20
  calotte values calotte-demo/averages/pilots_*_average.tsv --at 150..190ms --sites P7,P8`,
		Args: inputs(1, "averages"),
		RunE: func(c *cobra.Command, args []string) error { return a.runValues(c, f, args) },
	}
	flags := c.Flags()
	f.field.register(c)
	flags.Var(&f.sites, "sites", "10-20, 10-10, 10-5, or SITE[,SITE] (default: those of the average)")
	flags.Var(&f.format, "format", "of the table: tsv or json")
	flags.StringVarP(&f.output, "output", "o", "", "`FILE`.tsv or .json for the table, instead of standard output")
	return c
}

func (a *app) runValues(c *cobra.Command, f valuesFlags, paths []string) error {
	fields, err := f.field.read(a, c, paths)
	if err != nil {
		return err
	}
	out := a.files(paths)
	if f.output != "" {
		if ext := strings.ToLower(filepath.Ext(f.output)); ext != ".tsv" && ext != ".json" {
			return console.Usagef("-o %s: expected a name that ends in .tsv or .json", f.output)
		}
		f.format.json = strings.EqualFold(filepath.Ext(f.output), ".json")
		if err := out.Plan(f.output); err != nil {
			return err
		}
	}
	var rows []valueRow
	for _, avg := range fields.averages {
		columns := f.sites.columns()
		if len(columns) == 0 {
			columns = avg.Sites
		}
		sites, err := fields.head.targets(columns)
		if err != nil {
			return err
		}
		more, err := valuesOf(fields, avg, sites)
		if err != nil {
			return err
		}
		rows = append(rows, more...)
	}
	var table bytes.Buffer
	if err := writeValues(&table, f.format, rows); err != nil {
		return err
	}
	if f.output == "" {
		if _, err := a.stdout.Write(table.Bytes()); err != nil {
			return err
		}
	} else {
		out.Put(f.output, table.Bytes())
		if err := out.Write(); err != nil {
			return err
		}
	}
	fmt.Fprintf(a.summary(f.output == ""), "%s of %s at %s, in %s; positions: %s; reference: %s\n",
		console.Plural(len(rows), "value", "values"), f.field.quantity.describe(), labels(f.field.at),
		f.field.quantity.unit(), fields.head.describe(), fields.averages[0].Info.Reference)
	return nil
}

type valueRow struct {
	Name  string       `json:"name"`
	X     float64      `json:"x"`
	Y     float64      `json:"y"`
	Z     float64      `json:"z"`
	At    unit.Latency `json:"at"`
	Value float64      `json:"value"`
	From  string       `json:"from"`
}

// valuesOf reads one average's field at the sites, site by site.
func valuesOf(f *fields, avg *erp.Average, sites []layout.Site) ([]valueRow, error) {
	spline, amplitudes, err := f.spline(avg)
	if err != nil {
		return nil, err
	}
	coefficients, err := spline.Solve(amplitudes)
	if err != nil {
		return nil, err
	}
	points := make([]r3.Vec, len(sites))
	for i, s := range sites {
		points[i] = s.Position
	}
	values := spline.Interpolate(points, topo.Quantity(f.quantity), coefficients)
	var rows []valueRow
	for i, s := range sites {
		for j, at := range f.at {
			rows = append(rows, valueRow{s.Name, s.Position.X, s.Position.Y, s.Position.Z, at, values.At(i, j), avg.Info.Files[0].Name})
		}
	}
	return rows, nil
}

func writeValues(w *bytes.Buffer, f format, rows []valueRow) error {
	if f.json {
		return json.NewEncoder(w).Encode(rows)
	}
	cells := make([][]string, len(rows))
	for i, r := range rows {
		cells[i] = []string{r.Name, decimals(r.X, 4), decimals(r.Y, 4), decimals(r.Z, 4), r.At.String(), decimals(r.Value, 6), r.From}
	}
	return console.Table(w, []string{"name", "x", "y", "z", "at", "value", "from"}, cells)
}

// labels lists latencies as people read them.
func labels(at unit.Latencies) string {
	texts := make([]string, len(at))
	for i, l := range at {
		texts[i] = l.Label()
	}
	return strings.Join(texts, ", ")
}
