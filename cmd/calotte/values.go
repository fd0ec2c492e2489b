package main

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/fields"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/session"
	"calotte/cmd/internal/wearer"
	"calotte/layout"
	"calotte/topo/contrast"
	"calotte/topo/erp/average"
	"calotte/topo/provenance"
	"calotte/topo/unit"
)

// errorsFrom says whom --in is for, where errors are one of several quantities.
const errorsFrom = "a grand average's participants in, which errors need"

type valuesFlags struct {
	averages  averages.Flags
	when      fields.When
	what      fields.What
	spline    fields.Spline
	sites     option.Sites
	placement wearer.Placement
	format    option.Format
	output    string
}

func (a *app) values() *cobra.Command {
	f := &valuesFlags{what: fields.NewWhat(), spline: fields.NewSpline()}
	c := &cobra.Command{
		Use:   "values AVERAGE…",
		Short: "Print the numbers behind the maps, at any site",
		Long: `Values reads the interpolated field at sites, recorded or not, at latencies or as the
mean over windows. The table has a row for each site, latency and average: name, x, y
and z in mm, at, value in µV (csd: µV/cm²), and the average it is from.

With --placement values are those at the ideal sites, read from where the electrodes were,
and a column placement has the error, in µV (sd), of not knowing that better; --field error
holds it. Of a grand average it is what all caps share.

With -o NAME.tsv it writes NAME.json beside the table: quantity, unit, reference,
positions and what the values were made from. -o NAME.json holds both.`,
		Example: `  calotte values calotte-demo/results/group/pilots_known_average.tsv --at 170ms --sites 10-20
  calotte values calotte-demo/results/group/pilots_*_average.tsv --at 150..190ms --sites P7,P8`,
		Args: session.AtLeast(1, "averages"),
		RunE: func(c *cobra.Command, args []string) error { return a.runValues(c, f, args) },
	}
	flags := c.Flags()
	f.averages.Register(c)
	f.averages.RegisterFolders(c, errorsFrom)
	f.when.Register(c, "whose means are taken")
	f.what.Register(c)
	f.spline.Register(c, "gcv finds the one that predicts left-out sites best")
	f.placement.Register(c)
	flags.Var(&f.sites, "sites", "10-20, 10-10, 10-5, or SITE[,SITE] (default: those of the average)")
	flags.Var(&f.format, "format", "of the table: tsv or json")
	flags.StringVarP(&f.output, "output", "o", "", "`FILE`.tsv or .json for the table, instead of standard output")
	return c
}

// checkAsked finds what is wrong with what is asked of fields before any file
// is read.
func checkAsked(a *app, c *cobra.Command, of *averages.Flags, when *fields.When, what *fields.What,
	spline *fields.Spline) error {
	if err := cmp.Or(when.Check(c), of.Check(), spline.Check()); err != nil {
		return err
	}
	return what.Check(a.Session, of.Folders, spline.Order)
}

func (a *app) runValues(c *cobra.Command, f *valuesFlags, paths []string) error {
	if ext := strings.ToLower(filepath.Ext(f.output)); f.output != "" && ext != ".tsv" && ext != ".json" {
		return console.Usagef("-o %s: expected a name that ends in .tsv or .json", f.output)
	} else if f.output != "" && c.Flags().Changed("format") && f.format.JSON != (ext == ".json") {
		return console.Usagef("--format %v and -o %s disagree: leave --format out", f.format, f.output)
	}
	f.what.Placed = f.placement.Asked()
	if err := cmp.Or(checkAsked(a, c, &f.averages, &f.when, &f.what, &f.spline), f.placement.Check(c)); err != nil {
		return err
	}
	if q := f.what.Quantity; f.what.Placed && q != option.Potential && q != option.AllErrors {
		return console.Usagef("--placement is for potentials and their errors: leave it out with "+
			"--field %v, or "+
			"take --field error", q)
	}
	if err := f.when.Read(c); err != nil {
		return err
	}
	tables, err := f.averages.Read(a.Session, c, paths)
	if err != nil {
		return err
	}
	fields, err := f.spline.Read(a.Session, c, tables, f.when)
	if err != nil {
		return err
	}
	if err := fields.Ask(c.Context(), f.what); err != nil {
		return err
	}
	out := a.Files(fields.Inputs())
	if f.output != "" {
		if err := out.Plan(valuesFiles(f.output)...); err != nil {
			return err
		}
	}
	rows, err := f.rows(c.Context(), a, fields)
	if err != nil {
		return err
	}
	if f.output == "" {
		err = printValues(a.Stdout, f.format, f.what.Placed, rows)
	} else {
		err = f.save(a, c, out, fields, rows)
	}
	if err != nil {
		return err
	}
	in := ""
	if unit := f.what.Quantity.Unit(); unit != "" {
		in = ", in " + unit
	}
	console.Say(a.Summary(f.output == ""), "%s of %s at %s%s; positions: %s; reference: %s\n",
		console.Plural(len(rows), "value", "values"), f.what.Quantity.Describe(), labels(fields.At),
		in, fields.Head.Describe(), average.OrNotKnown(fields.Reference()))
	departing, err := fields.Departing()
	for _, text := range departing {
		console.Say(a.Summary(f.output == ""), "  departs: %s\n", text)
	}
	return err
}

// rows reads the field of each average at the wanted sites, or at its own.
func (f *valuesFlags) rows(ctx context.Context, a *app, read *fields.Fields) ([]valueRow, error) {
	origins, err := read.Origins()
	if err != nil {
		return nil, err
	}
	var rows []valueRow
	for i, avg := range read.Averages {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		columns := f.sites.Columns()
		if len(columns) == 0 {
			columns = avg.Sites
		}
		if err := a.bounded(mostRows, len(read.Averages), len(columns), len(read.At)); err != nil {
			return nil, err
		}
		sites, err := read.Head.Targets(columns)
		if err != nil {
			return nil, err
		}
		more, err := f.valuesOf(ctx, read, i, sites, origins[i])
		if err != nil {
			return nil, err
		}
		rows = append(rows, more...)
	}
	return rows, nil
}

// A valuesRecord says what the values are and what they were made from. It is
// the JSON file beside the table, or the one that holds them.
type valuesRecord struct {
	Quantity   string              `json:"quantity"`
	Unit       string              `json:"unit"`
	Reference  string              `json:"reference"` // empty: not known
	Positions  string              `json:"positions"`
	Remarks    []string            `json:"remarks,omitempty"`
	Synthetic  bool                `json:"synthetic,omitempty"`
	Files      []provenance.Source `json:"files,omitempty"` // the table
	Values     []valueRow          `json:"values,omitempty"`
	Provenance provenance.Record   `json:"provenance"`
}

// valuesFiles are the paths that a table of values takes: itself, and the JSON.
func valuesFiles(output string) []string {
	stem, ending := strings.TrimSuffix(output, filepath.Ext(output)), filepath.Ext(output)
	if strings.EqualFold(ending, ".json") {
		return []string{output}
	}
	return []string{output, stem + ".json"}
}

// save writes the values with what is known of them.
func (f *valuesFlags) save(a *app, c *cobra.Command, out *disk.Files, read *fields.Fields, rows []valueRow) error {
	origins, err := read.Origins()
	if err != nil {
		return err
	}
	record := valuesRecord{
		Quantity: f.what.Quantity.String(), Unit: f.what.Quantity.Unit(), Reference: read.Reference(),
		Positions: read.Head.Describe(), Remarks: read.Remarks(origins),
		Provenance: a.Provenance(c, slices.Concat(read.Sources(), f.placement.Sources())),
		Synthetic: slices.ContainsFunc(read.Averages,
			func(a *average.Average) bool { return a.Info.Synthetic }),
	}
	paths := valuesFiles(f.output)
	if len(paths) == 1 {
		record.Values = rows
	} else {
		var table bytes.Buffer
		if err := printValues(&table, option.Format{}, f.what.Placed, rows); err != nil {
			return err
		}
		record.Files = []provenance.Source{archive.Source(paths[0], table.Bytes())}
		out.Put(paths[0], table.Bytes())
	}
	text, err := json.MarshalIndent(record, "", "  ")
	if err != nil {
		return err
	}
	out.Put(paths[len(paths)-1], append(text, '\n'))
	if err := c.Context().Err(); err != nil {
		return err
	}
	return out.Write(c.Context())
}

type valueRow struct {
	Name  string       `json:"name"`
	X     float64      `json:"x"`
	Y     float64      `json:"y"`
	Z     float64      `json:"z"`
	At    unit.Latency `json:"at"`
	Value float64      `json:"value"`
	// the standard deviation that placement gives the value; absent: not
	// asked for
	Placement *float64 `json:"placement,omitempty"`
	From      string   `json:"from"`
}

// valuesOf reads one average's field at the sites, site by site.
func (f *valuesFlags) valuesOf(ctx context.Context, read *fields.Fields, index int, sites []layout.Site,
	from string) ([]valueRow, error) {
	points := make([]r3.Vec, len(sites))
	for i, s := range sites {
		points[i] = s.Position
	}
	var values, placement *mat.Dense
	var err error
	if f.what.Placed {
		values, placement, err = read.Placed(ctx, index, points, &f.placement)
	} else {
		values, err = interpolated(read, index, points)
	}
	if errors.Is(err, contrast.ErrNoSpread) {
		err = fmt.Errorf("%s: %w", read.Paths[index], err)
	}
	if err != nil {
		return nil, err
	}
	var rows []valueRow
	for i, s := range sites {
		for j, at := range read.At {
			row := valueRow{Name: s.Name, X: s.Position.X, Y: s.Position.Y, Z: s.Position.Z, At: at,
				Value: values.At(i, j), From: from}
			if placement != nil {
				off := placement.At(i, j)
				row.Placement = &off
			}
			rows = append(rows, row)
		}
	}
	return rows, nil
}

// interpolated is the field of an average, or its errors, at some points.
func interpolated(f *fields.Fields, index int, points []r3.Vec) (*mat.Dense, error) {
	if f.Quantity == option.Interpolation || f.Quantity == option.AllErrors {
		return f.Errors(index, points)
	}
	avg := f.Averages[index]
	spline, err := f.Spline(avg)
	if err != nil {
		return nil, err
	}
	amplitudes, err := f.Amplitudes(avg)
	if err != nil {
		return nil, err
	}
	coefficients, err := spline.Solve(amplitudes)
	if err != nil {
		return nil, err
	}
	values := spline.Interpolate(points, f.Quantity.Interpolated(), coefficients)
	if f.Quantity.NeedsUnits() {
		return f.Sample(index).Certainties(f.Quantity.Certainty(), values, spline, points, f.At)
	}
	return values, nil
}

func printValues(w io.Writer, f option.Format, placed bool, rows []valueRow) error {
	if f.JSON {
		return json.NewEncoder(w).Encode(rows)
	}
	columns := []string{"name", "x", "y", "z", "at", "value", "from"}
	if placed {
		columns = append(columns, "placement")
	}
	cells := make([][]string, len(rows))
	for i, r := range rows {
		cells[i] = []string{r.Name, decimals(r.X, 4), decimals(r.Y, 4), decimals(r.Z, 4), r.At.String(),
			decimals(r.Value, 6), r.From}
		if placed {
			cells[i] = append(cells[i], decimals(*r.Placement, 6))
		}
	}
	return console.Table(w, columns, cells)
}

// labels lists latencies as people read them.
func labels(at unit.Latencies) string {
	texts := make([]string, len(at))
	for i, l := range at {
		texts[i] = l.Label()
	}
	return strings.Join(texts, ", ")
}
