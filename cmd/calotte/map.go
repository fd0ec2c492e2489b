package main

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/fields"
	"calotte/cmd/internal/figure"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/session"
	"calotte/cmd/internal/wearer"
	"calotte/render/paper"
	"calotte/render/scalp"
)

type mapFlags struct {
	averages  averages.Flags
	when      fields.When
	what      fields.What
	spline    fields.Spline
	limit     string
	labels    bool
	views     viewsFlag
	spacing   scalp.Spacing
	palette   scalp.Palette
	form      scalp.Form
	scales    scalp.Scaling
	land      fields.Territory
	placement wearer.Placement
	rings     bool
	mark      figure.Marks
	figure    figure.Flags
	spec      figure.Spec
}

func (a *app) maps() *cobra.Command {
	f := &mapFlags{what: fields.NewWhat(), spline: fields.NewSpline(), land: fields.NewTerritory(),
		figure: figure.NewFlags()}
	c := &cobra.Command{
		Use:   "map AVERAGE…",
		Short: "Draw the field over the scalp at chosen latencies",
		Long: `Map draws a sheet: a row for each average, a column for each latency, all on one
colour scale. The ending of the output's name picks the format: .png, .svg, .pdf or .tiff.

Left and right are the wearer's; seen from above, the nose points up. Between the
electrodes the field is a spherical spline. How wrong it may be there follows from how rough
the measured field is: up to an eighth of the largest measured value it counts as known, up
to a third as guessed, and is hatched; beyond, and 15 mm outside of the electrodes, the map
ends. --field interpolation shows that error, --doubt 2sem where a value may be zero.
An electrode that departs from what the others predict is ringed.

What would be a long command line may stand in a file (--spec), with the flags as keys.`,
		Example: `  calotte map calotte-demo/results/group/pilots_*_average.tsv \
    --at 95ms,170ms,350ms --head calotte-demo/pilots_head.json -o maps.pdf
  calotte map calotte-demo/results/group/pilots_known_average.tsv --at 150..190ms --field csd -o csd.png
  calotte map calotte-demo/results/group/pilots_known-novel_average.tsv --at 170ms \
    --view left,top,right --doubt 2sem -o sides.svg`,
		Args: f.spec.Args(session.AtLeast(1, "averages")),
		RunE: func(c *cobra.Command, args []string) error {
			if f.spec.Schema {
				return figure.PrintSchema(a.Session, c)
			}
			return a.runMap(c, f, f.spec.All(args))
		},
	}
	flags := c.Flags()
	f.averages.Register(c)
	f.averages.RegisterFolders(c, errorsFrom)
	f.when.Register(c, "a map of the mean of each")
	f.what.Register(c)
	f.spline.Register(c, "gcv finds the one that predicts left-out sites best")
	flags.StringVar(&f.limit, "limit", "", "`VALUE` at the ends of the scale, such as 8uV (csd: 0.5uV/cm2)")
	flags.Var(&f.scales, "scales", "sheet (one for all), row (one each) or difference (one for the differences)")
	flags.Var(&f.views, "view", "top, left, right, front, back, or several joined by commas")
	flags.Var(&f.spacing, "projection", "of the view from above: equidistant, equal-area or stereographic")
	flags.Var(&f.palette, "palette", "colour, or grey for print without colour")
	flags.Var(&f.form, "field-as",
		"shades (if left out), or bands: areas between contours, for journals that refuse pictures in line art")
	flags.Var(&f.what.Doubt, "doubt",
		"stipple what is within so many errors of zero: 2sem (what --field sem needs), 2interpolation or "+
			"2error (both)")
	f.land.Register(c)
	f.placement.Register(c)
	flags.BoolVar(&f.rings, "rings", true, "ring electrodes that depart from what the others predict")
	f.mark.Register(c)
	flags.BoolVar(&f.labels, "labels", false, "name the sites")
	f.figure.Register(c)
	f.spec.Register(a.Session, c)
	session.Optional(flags, "view", "doubt", "field-as")
	option.ShowGroups(c,
		option.Group{Title: "What",
			Names: []string{"at", "windows", "field", "reference", "in", "mark"}},
		option.Group{Title: "What is not known",
			Names: []string{"doubt", "placement", "placement-shared", "overhang", "extrapolate", "rings"}},
		option.Group{Title: "How it looks",
			Names: []string{"view", "projection", "limit", "scales", "palette", "field-as", "labels",
				"width"}},
		option.Group{Title: "What is written",
			Names: []string{"output", "dpi", "source-data", "spec", "spec-schema"}},
		option.Group{Title: "The field", Names: []string{"spline-order", "spline-smoothing"}},
		option.Group{Title: "The head",
			Names: append([]string{"head", "electrodes"},
				append(slices.Clone(wearer.TapeFlags), "scan", "landmarks", "scan-unit")...)},
	)
	return c
}

// viewsFlag is a list of views.
type viewsFlag []scalp.View

func (v *viewsFlag) Set(text string) error {
	list := slices.Clone(*v)
	for name := range strings.SplitSeq(text, ",") {
		var view scalp.View
		if err := view.Set(strings.TrimSpace(name)); err != nil {
			return err
		}
		if slices.Contains(list, view) {
			return fmt.Errorf("view %v is given twice", view)
		}
		list = append(list, view)
	}
	*v = list
	return nil
}

func (v viewsFlag) String() string { return option.Joined(v) }
func (v viewsFlag) Type() string   { return "views" }

// check finds what is wrong with the flags before any file is read.
func (f *mapFlags) check(a *app, c *cobra.Command) error {
	if err := f.figure.Check(c, "maps.pdf", figure.Narrowest); err != nil {
		return err
	}
	err := cmp.Or(f.what.CheckDoubt(), f.land.Check(), f.placement.Check(c), f.what.CheckPlacement(&f.placement))
	if err != nil {
		return err
	}
	return checkAsked(a, c, &f.averages, &f.when, &f.what, &f.spline)
}

func (a *app) runMap(c *cobra.Command, f *mapFlags, paths []string) error {
	if err := f.check(a, c); err != nil {
		return err
	}
	limit, err := f.what.Quantity.Limit(f.limit)
	if err != nil {
		return err
	}
	if err := f.mark.Read(); err != nil {
		return err
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
	if err := a.bounded(mostMaps, len(fields.Averages), len(fields.At), max(1, len(f.views))); err != nil {
		return err
	}
	out := a.Files(slices.Concat(fields.Inputs(), f.mark.Paths, f.spec.Paths()))
	sheet, err := sheetOf(c.Context(), fields, &f.mark)
	if err != nil {
		return err
	}
	if err := fields.PlacedRows(c.Context(), sheet.Rows, &f.placement); err != nil {
		return err
	}
	sheet.Limit, sheet.Labels, sheet.Width = limit, f.labels, f.figure.Points()
	sheet.Views, sheet.Spacing, sheet.Palette, sheet.Scaling = f.views, f.spacing, f.palette, f.scales
	sheet.Form, sheet.Unringed = f.form, !f.rings
	sheet.Overhang, sheet.Extrapolate = float64(f.land.Overhang), f.land.Extrapolate
	plate, err := sheet.Compose()
	if err != nil {
		return err
	}
	numbers := numbersOfMaps(plate, f.what.Quantity)
	if err := f.figure.Plan(out, numbers...); err != nil {
		return err
	}
	sources := slices.Concat(fields.Sources(), f.spec.Sources(), f.placement.Sources())
	if f.mark.Path != "" {
		sources = append(sources, f.mark.Source)
	}
	if err := f.figure.Put(out, plate, a.Provenance(c, sources), numbers...); err != nil {
		return err
	}
	if err := c.Context().Err(); err != nil {
		return err
	}
	if err := out.Write(c.Context()); err != nil {
		return err
	}
	reportMap(a.Summary(false), f, sheet, plate)
	return nil
}

// numbersOfMaps are the potentials at the sites that all is made of, and the
// drawn field.
func numbersOfMaps(plate *scalp.Plate, drawn option.Quantity) []figure.Numbers {
	return []figure.Numbers{
		{Name: "sites", Text: func() []byte {
			var b bytes.Buffer
			figure.Cells(&b, "row", "at", "name", "x", "y", "z", "value", "quantity")
			for n := range plate.AtSites() {
				figure.Cells(&b, n.Row, n.Column, n.Name, n.Place.X, n.Place.Y, n.Place.Z, n.Value,
					option.Potential.Named())
			}
			return b.Bytes()
		}},
		{Name: "field", Text: func() []byte {
			var b bytes.Buffer
			figure.Cells(&b, "row", "at", "view", "x", "y", "z", "value", "quantity")
			for n := range plate.Drawn() {
				figure.Cells(&b, n.Row, n.Column, n.Name, n.Place.X, n.Place.Y, n.Place.Z, n.Value,
					drawn.Named())
			}
			return b.Bytes()
		}},
	}
}

func reportMap(w io.Writer, f *mapFlags, sheet *scalp.Sheet, plate *scalp.Plate) {
	maps := len(sheet.Rows) * len(sheet.Columns) * max(1, len(sheet.Views))
	console.Say(w, "%s of %s → %s\n", console.Plural(maps, "map", "maps"), f.what.Quantity.Describe(),
		f.figure.Output)
	for _, scale := range plate.Scales {
		ends, of := "±", ""
		if scale.OneSided {
			ends = paper.Number(scale.Floor, 3) + " to "
		}
		if scale.Of != "" {
			of = scale.Of + ": "
		}
		contours := "contours every " + plate.Amount(scale.Step)
		if !scale.Contoured() {
			contours = "only the contour of zero, since the limit is below twice the standard error"
		}
		console.Say(w, "  %sscale %s%s, %s\n", of, ends, plate.Amount(scale.Limit), contours)
	}
	console.Say(w, "  left and right are the wearer's\n")
}

// sheetOf lays out a row for each average.
func sheetOf(ctx context.Context, f *fields.Fields, mark *figure.Marks) (*scalp.Sheet, error) {
	titles, err := f.Titles()
	if err != nil {
		return nil, err
	}
	sheet := &scalp.Sheet{
		Quantity:  f.Quantity.Interpolated(),
		Head:      f.Head.Model,
		Reference: f.Reference(),
		Digitised: f.Head.Measured != nil,
		Remarks:   f.Remarks(titles),
		Boundary:  f.Doubt.Boundary,
	}
	for _, at := range f.At {
		sheet.Columns = append(sheet.Columns, f.Windows.Label(at))
	}
	for i, avg := range f.Averages {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		row, err := f.Row(i, avg, titles[i])
		if err != nil {
			return nil, err
		}
		row.Chosen = mark.Chosen(row.Marks, f.At)
		if missing := mark.Missing(avg.Sites); missing != nil {
			return nil, fmt.Errorf("%s marks %s, which %s does not have: expected sites of the average",
				mark.Path,
				strings.Join(missing, ", "), f.Paths[i])
		}
		sheet.Rows = append(sheet.Rows, row)
		sheet.Synthetic = sheet.Synthetic || avg.Info.Synthetic
	}
	if mark.Path != "" {
		sheet.Choice = mark.Choice()
	}
	sheet.Shows = f.Quantity.Showing()
	if f.Quantity.NeedsUnits() {
		sheet.Over = f.Over()
	}
	if sheet.Shows == scalp.TValues {
		sheet.StandardError = 1
	}
	if f.Quantity == option.Potential { // what follows is in µV
		sheet.BaselinePower = f.BaselinePower()
		sheet.StandardError, err = f.StandardError()
	}
	return sheet, err
}
