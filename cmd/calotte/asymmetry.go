package main

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/console"
	"calotte/layout"
	"calotte/topo/erp"
	"calotte/topo/measure"
	"calotte/topo/unit"
)

type asymmetryFlags struct {
	field        fieldFlags
	of           names
	arrangements int
	contra       bool
	cap          capFlag
	output       string
	figure       figureFlags
	units        [][]*erp.Average // of each average
}

func (a *app) asymmetry() *cobra.Command {
	f := &asymmetryFlags{field: newFieldFlags(), arrangements: 5000, figure: newFigureFlags()}
	c := &cobra.Command{
		Use:   "asymmetry AVERAGE…",
		Short: "Compare left with right, and ask whether a crooked cap made it",
		Long: `Asymmetry takes right minus left at every pair of mirrored sites: of a grand average over
its people, whom it looks for beside it and in --in; of one person over the saved epochs,
or with the standard errors of the average alone. It gives the interval of the mean by t,
p by sign flips, and p* corrected over all pairs by the largest t. Of a difference of
conditions it tests the interaction of condition and hemisphere.

It also says by how much the difference would change had the whole cap sat 5 mm to one
side, and how far it must have slid to explain the difference away.

With --contralateral the two averages are of stimuli (or responses) on the left and on the
right, in this order, of the same people: what is compared is the side across from the
stimulus with the side that it is on.

With -o FILE.png, .svg, .pdf or .tiff it draws the average and its right minus left as
maps, the pairs with their intervals, and the waveforms of the first pair.`,
		Example: `  calotte asymmetry calotte-demo/results/group/pilots_known_average.tsv --at 150..190ms --of P7,PO7
  calotte asymmetry calotte-demo/results/group/pilots_known-novel_average.tsv --at 150..190ms --of P7 -o asymmetry.tsv
  calotte asymmetry calotte-demo/results/group/pilots_known_average.tsv --at 150..190ms --of P7,PO7,TP7,O1 -o sides.png`,
		Args: inputs(1, "averages"),
		RunE: func(c *cobra.Command, args []string) error { return a.runAsymmetry(c, f, args) },
	}
	flags := c.Flags()
	flags.Var(&f.field.at, "at", "latencies 100ms,170ms or windows 150..190ms, whose mean is taken")
	f.field.windows.register(c, "whose means are taken")
	flags.Var(&f.of, "of", "SITE[,SITE]: one side of each pair (default: all pairs)")
	flags.BoolVar(&f.contra, "contralateral", false, "compare contralateral with ipsilateral: of stimuli on the left, then on the right")
	f.cap.register(c)
	flags.IntVar(&f.arrangements, "arrangements", f.arrangements, "`N` sign flips to draw, where there are more")
	flags.StringArrayVar(&f.field.folders, "in", nil, "`FOLDER` to look for a grand average's participants in; repeat for more")
	f.field.registerSpline(c, "gcv finds one")
	f.figure.register(c)
	flags.Lookup("output").Usage = "`FILE`.tsv for the table, with a JSON beside it; .png, .svg, .pdf or .tiff for the figure"
	groupFlags(c,
		flagGroup{"What", []string{"at", "windows", "of", "contralateral", "in", "arrangements", "reference", "capcheck"}},
		flagGroup{"What is written", []string{"output", "width", "dpi", "source-data"}},
		flagGroup{"The field", []string{"spline-order", "spline-smoothing"}},
		flagGroup{"The head", append([]string{"head", "electrodes"}, append(slices.Clone(tapeFlags), "scan", "landmarks", "scan-unit")...)},
	)
	return c
}

// asymmetryRow is a pair at a latency.
type asymmetryRow struct {
	condition   string
	at          unit.Latency
	left, right string
	n           int
	unit        string // people or epochs
	values      [2]float64
	difference  float64
	sem         float64
	low, high   float64
	p, adjusted float64
	same        float64 // share whose difference has the mean's sign
	repaired    bool
	noted       string     // of the skull, in the head file
	change      [3]float64 // by 5 mm to the left, 5 mm forward, and 3° of twist
	need        float64    // mm to a side that explain it; negative: to the right
	mirrored    float64    // right minus left at places that are mirrored exactly, from the spline, where positions are digitised
	checked     float64    // change had the cap been put where it belongs, by the cap check; NaN: none
	contra      bool       // the values are ipsilateral and contralateral
	touch       float64    // mm to a side at which the interval touches zero; NaN: it does already
}

func (a *app) runAsymmetry(c *cobra.Command, f *asymmetryFlags, paths []string) error {
	f.output = f.figure.output
	drawn := f.output != "" && strings.ToLower(filepath.Ext(f.output)) != ".tsv"
	if drawn {
		if err := f.figure.check(c, "sides.png", 114); err != nil {
			return err
		}
		if len(paths) > 1 || f.contra {
			return console.Usagef("a figure shows one average, not %d: draw one after the other", len(paths))
		}
	} else if set := given(c.Flags(), "width", "dpi", "source-data"); set != nil {
		return console.Usagef("--%s is for a figure: leave it out, or write one (-o sides.png)", set[0])
	}
	if f.arrangements < 99 || f.arrangements > 10_000_000 {
		return console.Usagef("--arrangements %d: expected 99 to 10000000", f.arrangements)
	}
	if f.contra && len(paths) != 2 {
		return console.Usagef("--contralateral takes two averages, of stimuli on the left and on the right, not %d", len(paths))
	}
	if err := f.cap.read(); err != nil {
		return err
	}
	folders := f.field.folders
	f.field.folders = nil // whether people are needed is for the averages to say
	fields, err := f.field.read(a, c, paths)
	if err != nil {
		return err
	}
	if err := checkFolders(folders); err != nil {
		return err
	}
	f.field.folders = folders
	table := savedTable{path: f.output, columns: asymmetryColumns}
	out := a.files(slices.Concat(fields.inputs(), f.cap.paths()))
	if f.output != "" && !drawn {
		if err := out.Plan(table.path, table.json()); err != nil {
			return err
		}
	}
	titles, err := fields.titles()
	if err != nil {
		return err
	}
	var rows []asymmetryRow
	if f.contra {
		table.columns = contralateralColumns
		if rows, err = f.contralateral(a, fields, titles); err != nil {
			return err
		}
	}
	for i := range fields.averages {
		if f.contra {
			break
		}
		if err := c.Context().Err(); err != nil {
			return err
		}
		more, err := f.rows(a, fields, i, titles[i])
		if err != nil {
			return fmt.Errorf("%s: %w", paths[i], err)
		}
		rows = append(rows, more...)
	}
	for i := range rows {
		rows[i].noted = openSkull(fields.head.Notes)
		table.rows = append(table.rows, rows[i].cells())
	}
	switch {
	case drawn:
		err = f.draw(a, c, out, fields, rows)
	case f.output == "":
		err = console.Table(a.stdout, table.columns, table.rows)
	default:
		record := tableRecord{
			What: "right minus left, in µV", Remarks: fields.remarks(titles), Provenance: a.provenance(c, slices.Concat(fields.sources(), f.cap.sources())),
			Synthetic: slices.ContainsFunc(fields.averages, func(a *erp.Average) bool { return a.Info.Synthetic }),
		}
		if err = table.put(out, record); err == nil {
			err = out.Write(c.Context())
		}
	}
	if err != nil {
		return err
	}
	f.report(a.summary(f.output == ""), fields, rows)
	return nil
}

// pairs are those asked for, or all.
func (f *asymmetryFlags) pairs(sites []string) ([]measure.MirrorPair, error) {
	all := measure.MirrorPairs(sites)
	if len(all) == 0 {
		return nil, fmt.Errorf("no two of its sites are mirrored: expected pairs such as P7 and P8")
	}
	if len(f.of) == 0 {
		return all, nil
	}
	index := siteIndex(sites)
	var out []measure.MirrorPair
	for _, name := range f.of {
		i, ok := index[name]
		if !ok {
			return nil, fmt.Errorf("there is no %s: there are %s", name, console.SomeOf(sites))
		}
		k := slices.IndexFunc(all, func(p measure.MirrorPair) bool { return p.Left == i || p.Right == i })
		if k < 0 {
			return nil, fmt.Errorf("%s has no mirrored site among them: expected one side of a pair such as P7 and P8", name)
		}
		if slices.Contains(out, all[k]) {
			return nil, console.Usagef("--of names the pair of %s twice", name)
		}
		out = append(out, all[k])
	}
	return out, nil
}

// rows are an average's pairs at all latencies, p* corrected over the pairs of a latency.
func (f *asymmetryFlags) rows(a *app, fields *fields, i int, title string) ([]asymmetryRow, error) {
	avg := fields.averages[i]
	pairs, err := f.pairs(avg.Sites)
	if err != nil {
		return nil, err
	}
	units, read, err := fields.unitsOf(i)
	if err != nil {
		return nil, err
	}
	fields.files = append(fields.files, read...)
	f.units = append(f.units, units)
	spline, amplitudes, err := fields.spline(avg)
	if err != nil {
		return nil, err
	}
	coefficients, err := spline.Solve(amplitudes)
	if err != nil {
		return nil, err
	}
	sites, err := fields.head.sites(avg.Sites)
	if err != nil {
		return nil, err
	}
	var rows []asymmetryRow
	for j, at := range f.field.at {
		var own []asymmetryRow
		for _, p := range pairs {
			r := asymmetryRow{
				condition: title, at: at, left: avg.Sites[p.Left], right: avg.Sites[p.Right],
				values: [2]float64{amplitudes.At(p.Left, j), amplitudes.At(p.Right, j)},
				sem:    math.NaN(), low: math.NaN(), high: math.NaN(), p: math.NaN(), adjusted: math.NaN(), same: math.NaN(),
			}
			r.difference = r.values[1] - r.values[0]
			r.repaired = repaired(avg, r.left) || repaired(avg, r.right)
			own = append(own, r)
		}
		if len(units) >= 2 {
			err = f.test(a, own, avg, units, pairs, at)
		} else {
			err = known(own, avg, at)
		}
		if err != nil {
			return nil, err
		}
		for k, p := range pairs {
			own[k].crooked(spline, coefficients, sites[p.Left].Position, sites[p.Right].Position, j, fields.head.radius)
			own[k].checked = f.cap.change(spline, coefficients, sites[p.Left].Position, sites[p.Right].Position, j)
			own[k].mirrored = math.NaN()
			if fields.head.measured != nil {
				own[k].mirrored = mirroredDifference(spline, coefficients, sites[p.Left].Position, sites[p.Right].Position, j)
			}
		}
		rows = append(rows, own...)
	}
	return rows, nil
}

// openSkull is what a head file notes of the bone: where it is missing or pierced the
// scalp shows more of what is below it (common practice, no source).
func openSkull(notes []layout.Note) string {
	var texts []string
	for _, n := range notes {
		if n.Kind == layout.SkullDefect || n.Kind == layout.Plate || n.Kind == layout.Shunt {
			texts = append(texts, strings.TrimSpace(fmt.Sprintf("%s %s %s", n.Kind, n.Side, n.Place)))
		}
	}
	return strings.Join(texts, ", ")
}

func repaired(avg *erp.Average, site string) bool {
	n, err := layout.Parse(site)
	return err == nil && avg.Info.Kind != erp.GrandAverage && slices.Contains(avg.Info.Repaired, string(n))
}

// contralateralColumns are the same where sides are named by the stimulus.
var contralateralColumns = func() []string {
	columns := slices.Clone(asymmetryColumns)
	for i, c := range columns {
		switch c {
		case "left_uV":
			columns[i] = "ipsilateral_uV"
		case "right_uV":
			columns[i] = "contralateral_uV"
		case "right_minus_left_uV":
			columns[i] = "contralateral_minus_ipsilateral_uV"
		}
	}
	return columns
}()
