package main

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"calotte/cmd/internal/console"
	"calotte/layout"
	"calotte/topo"
	"calotte/topo/erp"
	"calotte/topo/inference"
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
	flags.IntVar(&f.field.order, "spline-order", f.field.order, "`ORDER` of the spherical spline, 3 to 6")
	flags.Var(&f.field.smoothing, "spline-smoothing", "LAMBDA of the spline: 0 passes through the data, gcv finds one")
	f.field.head.register(c)
	f.field.positions.register(c, true)
	f.field.rereference.register(c)
	f.field.clock.register(c)
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

const (
	capSlide = 5.                // mm
	capTwist = 3 * math.Pi / 180 // about the vertical, where Cz does not slide
	// beyondLinear is how far, in mm, the change is not taken to grow in proportion.
	beyondLinear = 15.
)

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
			err = out.Write()
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

// test adds intervals and p over people or epochs.
func (f *asymmetryFlags) test(a *app, rows []asymmetryRow, avg *erp.Average, units []*erp.Average, pairs []measure.MirrorPair, at unit.Latency) error {
	what := "epochs"
	if avg.Info.Kind == erp.GrandAverage {
		what = "people"
	}
	data := mat.NewDense(len(units), len(pairs), nil)
	for u, one := range units {
		values, err := one.At(at)
		if err != nil {
			return err
		}
		for k, p := range pairs {
			data.Set(u, k, values[p.Right]-values[p.Left])
		}
	}
	design, err := inference.Paired(len(units))
	if err != nil {
		return err
	}
	test, err := inference.TestLargest(design, data, f.options(a))
	if err != nil {
		return err
	}
	column := make([]float64, len(units))
	for k := range rows {
		r := &rows[k]
		mat.Col(column, k, data)
		r.n, r.unit = len(units), what
		r.sem = stat.StdDev(column, nil) / math.Sqrt(float64(len(column)))
		if r.low, r.high, err = inference.TInterval(column, .95); err != nil {
			return err
		}
		r.p, r.adjusted = test.P[k], test.Corrected[k]
		same := 0
		for _, v := range column {
			if v*r.difference > 0 {
				same++
			}
		}
		r.same = float64(same) / float64(len(column))
	}
	return nil
}

func (f *asymmetryFlags) options(a *app) inference.Options {
	return inference.Options{Arrangements: f.arrangements, Seed: a.seed}
}

// known adds what the standard errors of one person's pairs allow.
func known(rows []asymmetryRow, avg *erp.Average, at unit.Latency) error {
	if avg.Info.Epochs == nil || avg.Pairs.SEM == nil || avg.Info.Epochs.Kept < 2 {
		return nil
	}
	n := avg.Info.Epochs.Kept
	errors := &erp.Average{Times: avg.Times, Mean: avg.Pairs.SEM}
	sems, err := errors.At(at)
	if err != nil {
		return err
	}
	for i := range rows {
		r := &rows[i]
		k := slices.Index(avg.Pairs.Names, r.right+"-"+r.left)
		if k < 0 {
			continue
		}
		r.n, r.unit, r.sem = n, "epochs", sems[k]
		half := distuv.StudentsT{Sigma: 1, Nu: float64(n - 1)}.Quantile(.975) * r.sem
		r.low, r.high = r.difference-half, r.difference+half
	}
	return nil
}

// mirroredDifference reads the spline where the pair would sit if its sites mirrored each
// other exactly: at the middle between the right one and the left one's mirror image, and
// at the mirror image of that.
func mirroredDifference(spline *topo.Spline, c *topo.Coefficients, left, right r3.Vec, column int) float64 {
	mirror := func(p r3.Vec) r3.Vec { return r3.Vec{X: -p.X, Y: p.Y, Z: p.Z} }
	middle := r3.Scale(.5, r3.Add(right, mirror(left)))
	values := spline.Interpolate([]r3.Vec{middle, mirror(middle)}, topo.Potential, c)
	return values.At(0, column) - values.At(1, column)
}

// crooked asks the spline what a cap that sat otherwise would have read.
func (r *asymmetryRow) crooked(spline *topo.Spline, c *topo.Coefficients, left, right r3.Vec, column int, radius float64) {
	change := func(m measure.CapMove, angle float64) float64 {
		return measure.CapChange(spline, c, left, right, func(p r3.Vec) r3.Vec { return m.Moved(p, angle) })[column]
	}
	r.change = [3]float64{
		change(measure.CapToSide, capSlide/radius), change(measure.CapForward, capSlide/radius), change(measure.CapTwisted, capTwist),
	}
	slope := (change(measure.CapToSide, 1/radius) - change(measure.CapToSide, -1/radius)) / 2 // µV/mm
	r.need, r.touch = math.NaN(), math.NaN()
	if slope == 0 {
		return
	}
	r.need = -r.difference / slope // as if the change had been in proportion
	if r.low > 0 {
		r.touch = -r.low / slope
	} else if r.high < 0 {
		r.touch = -r.high / slope
	}
}

var asymmetryColumns = strings.Fields("condition at left right n over left_uV right_uV right_minus_left_uV sem low high p p_corrected same_sign index repaired noted side_5mm forward_5mm twist_3deg side_mm_to_zero_interval side_mm_to_explain change_by_capcheck exactly_mirrored_uV")

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

func (r asymmetryRow) cells() []string {
	number := func(v float64, digits int) string {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return "n/a"
		}
		return decimals(v, digits)
	}
	n, over := "n/a", "n/a"
	if r.n > 0 {
		n, over = strconv.Itoa(r.n), r.unit
	}
	return []string{
		r.condition, r.at.String(), r.left, r.right, n, over, number(r.values[0], 4), number(r.values[1], 4), number(r.difference, 4),
		number(r.sem, 4), number(r.low, 4), number(r.high, 4), number(r.p, 6), number(r.adjusted, 6), number(r.same, 3),
		number(measure.LateralIndex(r.values[0], r.values[1], r.sem), 4), strconv.FormatBool(r.repaired), orMissingText(r.noted),
		number(r.change[0], 4), number(r.change[1], 4), number(r.change[2], 4), number(r.touch, 1), number(r.need, 1), number(r.checked, 4), number(r.mirrored, 4),
	}
}

// orMissingText is a text as tables have it.
func orMissingText(text string) string {
	if text == "" {
		return "n/a"
	}
	return text
}

// report says in words what the table says in numbers: all pairs where they are few, else
// those that stand out most.
func (f *asymmetryFlags) report(w io.Writer, fields *fields, rows []asymmetryRow) {
	const most = 6
	shown := slices.Clone(rows)
	slices.SortStableFunc(shown, func(a, b asymmetryRow) int {
		x, y := math.Abs(a.difference/a.sem), math.Abs(b.difference/b.sem)
		switch {
		case math.IsNaN(x) || math.IsNaN(y) || x == y:
			return 0
		case x > y:
			return -1
		}
		return 1
	})
	if len(shown) > most {
		fmt.Fprintf(w, "the %d of %d that stand out most:\n", most, len(shown))
		shown = shown[:most]
	}
	for _, r := range shown {
		r.say(w)
	}
	if rows[0].n > 0 && !math.IsNaN(rows[0].p) {
		if design, err := inference.Paired(rows[0].n); err == nil {
			o := inference.Options{Arrangements: f.arrangements}
			kind := fmt.Sprintf("%d sign flips drawn", f.arrangements)
			if design.Exact(o) {
				kind = "all sign flips"
			}
			fmt.Fprintf(w, "p*: corrected over the pairs of a latency by the largest t; %s of %d %s; the smallest p they allow is %.2g.\n", kind, rows[0].n, rows[0].unit, design.SmallestP(o))
		}
	} else {
		fmt.Fprintln(w, "No p: that takes the people behind a grand average, or the epochs of one person (calotte average --save-epochs).")
	}
	fmt.Fprintln(w, fields.windows.remark("Latencies"))
	if noted := openSkull(fields.head.Notes); noted != "" {
		fmt.Fprintf(w, "The head file notes: %s. There the scalp's potentials are larger, whatever the brain does: do not compare the pairs there.\n", noted)
	}
	if n := len(fields.averages[0].Sites); n < 100 {
		kind := "known roughly"
		if n < 32 {
			kind = "indicative only"
		}
		fmt.Fprintf(w, "What a crooked cap would change is read from the spline; with %d electrodes it is %s for shallow sources, and below the lowest electrodes.\n", n, kind)
	}
	fmt.Fprintln(w, "The side that is larger on the scalp need not be the side that is active in the brain.")
}

func (r asymmetryRow) say(w io.Writer) {
	fmt.Fprintf(w, "%s–%s  %s, %s", r.left, r.right, r.condition, r.at.Label())
	if r.n > 0 {
		fmt.Fprintf(w, "   %d %s", r.n, r.unit)
	}
	names := [3]string{"left", "right", "right−left"}
	if r.contra {
		names = [3]string{"ipsilateral", "contralateral", "contralateral−ipsilateral"}
	}
	fmt.Fprintf(w, "   %s %s   %s %s   %s %s", names[0], signed(r.values[0]), names[1], signed(r.values[1]), names[2], signed(r.difference))
	if !math.IsNaN(r.low) {
		fmt.Fprintf(w, " [%s, %s]", signed(r.low), signed(r.high))
	}
	if !math.IsNaN(r.adjusted) {
		fmt.Fprintf(w, "   p* %.2g", r.adjusted)
	}
	if r.repaired {
		fmt.Fprint(w, "   one side is repaired")
	}
	words := r.words()
	if r.adjusted > .05 && r.p <= .05 {
		words += " Among all the pairs looked at it does not stand out."
	}
	fmt.Fprintf(w, "\n  In words: %s\n", words)
	if !math.IsNaN(r.mirrored) {
		fmt.Fprintf(w, "  At places that mirror each other exactly, from the spline: %s µV.\n", signed(r.mirrored))
	}
	if !math.IsNaN(r.checked) {
		fmt.Fprintf(w, "  Had the cap sat in its place, as capcheck has it, this would be %s µV.\n", signed(r.difference+r.checked))
	}
	if math.IsNaN(r.need) {
		return
	}
	fmt.Fprintf(w, "  A cap 5 mm to one side would change this by %.2f µV; ", math.Abs(r.change[0]))
	if math.Abs(r.touch) <= beyondLinear {
		fmt.Fprintf(w, "at %.1f mm the interval would touch zero, and ", math.Abs(r.touch))
	}
	switch {
	case math.Abs(r.need) > 100:
		fmt.Fprintln(w, "no slide would explain it.")
	case math.Abs(r.need) > beyondLinear:
		fmt.Fprintf(w, "%.0f mm would be needed to explain it, if the change went on in proportion.\n", math.Abs(r.need))
	default:
		fmt.Fprintf(w, "%.0f mm would be needed to explain it.\n", math.Abs(r.need))
	}
}

// words is a sentence: on which side what is stronger.
func (r asymmetryRow) words() string {
	place := "at " + r.left + "–" + r.right
	if !math.IsNaN(r.low) && r.low <= 0 && r.high >= 0 {
		return fmt.Sprintf("%s neither side is shown to be stronger: the interval holds zero.", place)
	}
	left, right := r.values[0], r.values[1]
	size := math.Abs(r.difference)
	side := func(stronger bool) string {
		switch {
		case stronger && r.contra:
			return "contralateral side"
		case r.contra:
			return "ipsilateral side"
		case stronger:
			return "right"
		}
		return "left"
	}
	switch {
	case left < 0 && right < 0:
		return fmt.Sprintf("%s the negativity is stronger on the %s by %.1f µV.", place, side(right < left), size)
	case left > 0 && right > 0:
		return fmt.Sprintf("%s the positivity is stronger on the %s by %.1f µV.", place, side(right > left), size)
	}
	return fmt.Sprintf("%s the two sides have different signs, %.1f µV apart; the %s is more positive.", place, size, side(right > left))
}

// signed is a value of two decimals with a true minus.
func signed(v float64) string {
	return strings.Replace(strconv.FormatFloat(v, 'f', 2, 64), "-", "−", 1)
}
