package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/fields"
	"calotte/cmd/internal/figure"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/session"
	"calotte/cmd/internal/wearer"
	"calotte/topo/contrast"
	"calotte/topo/erp/average"
	"calotte/topo/inference"
)

type asymmetryFlags struct {
	averages     averages.Flags
	when         fields.When
	spline       fields.Spline
	of           option.Labels
	pools        option.Pools
	arrangements int
	contra       bool
	cap          figure.Cap
	placement    wearer.Placement
	effect       effectFlag
	sme          bool
	output       string
	figure       figure.Flags
}

func (a *app) asymmetry() *cobra.Command {
	f := &asymmetryFlags{spline: fields.NewSpline(), arrangements: 5000, figure: figure.NewFlags()}
	c := &cobra.Command{
		Use:   "asymmetry AVERAGE…",
		Short: "Compare left with right, and ask whether a crooked cap made it",
		Long: `Asymmetry takes right minus left at every pair of mirrored sites: of a grand average over
its people, whom it looks for beside it and in --in; of one person over the saved epochs,
or with the standard errors of the average alone. It gives the interval of the mean by t,
p by sign flips, and p* corrected over all pairs by the largest t. Of a difference of
conditions it tests the interaction of condition and hemisphere.

It also finds the smallest turn of the cap, in whatever direction, that would explain the
difference: the interpolated field, read where the electrodes should have been, then
differs no more. In the table smallest_turn_mm is its slide at the ring (the angle times
the head's radius) and smallest_roll_deg, _pitch_deg and _yaw_deg say how the cap sat:
components of a rotation vector, not angles of turns one after the other. Positive are the
vertex too far to the wearer's right (roll), too far back (pitch), the front too far to
the wearer's left (yaw), as capcheck has them; n/a: none within 15 mm.
turn_mm_to_zero_interval is the smallest for which the interval, as wide as it is, would
touch zero. side_5mm, forward_5mm, twist_3deg and stretch_1mm are by how many µV right
minus left would change had the cap sat 5 mm to the wearer's left, 5 mm to the front,
twisted by 3° with the front to the wearer's left, or with a left half stretched by 1 mm
at T7.

With --placement the difference is that at the ideal sites, read from where the electrodes
were, and the interval holds what is not known of how the cap sat, as well as the error of
the interpolation: of one person all of it, of a group what all caps share
(--placement-shared); what is each cap's own is in the spread of the people, and told as a
part of it. The columns noise_share, interpolation_share and placement_share are the parts of
the interval, squared.

With --effect it says how well a cap must be placed before the next recording, of whose map
this average is typical: how far caps may sit off for placement to change the difference by
less than that size in 95 of 100 caps (noise: for its error to be no larger than that of the
noise), and the fewest tape readings of 2 mm each that tell a cap so well (see calotte
capcheck --tape). In the table: placement_needed_mm, placement_needed_deg, tapes_needed.

It says where looks sideways could carry a difference: the mean sideways signal of the
averages (see calotte average) times by how much more the right site follows it than the
left, is shown to be off zero and may reach half of the difference. In the table by_gaze_uV
is a lower bound, as noise in the signal takes off it, and by_gaze_low and _high the
interval by the error of the signal.

--measurement-errors adds the columns left_sme, right_sme and right_minus_left_sme: by how
much a person's own value would spread over recordings of as many epochs, sd/√n over the
saved ones; of a grand average the root mean square over its people (Luck et al. 2021).
With --contralateral they are ipsilateral_sme and so on.

With --contralateral the two averages are of stimuli (or responses) on the left and on the
right, in this order, of the same people: what is compared is the side across from the
stimulus with the side that it is on.

With -o FILE.png, .svg, .pdf or .tiff it draws the average and its right minus left as
maps, the pairs with their intervals, and the waveforms of the first pair.`,
		Example: `  calotte asymmetry calotte-demo/results/group/pilots_known_average.tsv --at 150..190ms --of P7,PO7
  calotte asymmetry calotte-demo/results/sub-01/sub-01_known_average.tsv --at 150..190ms --of P7 --placement 5mm
  calotte asymmetry calotte-demo/results/group/pilots_known_average.tsv --at 150..190ms --of P7 --effect 1uV
  calotte asymmetry calotte-demo/results/group/pilots_known-novel_average.tsv --at 150..190ms --of P7 -o asymmetry.tsv
  calotte asymmetry calotte-demo/results/group/pilots_known_average.tsv --at 150..190ms --of P7,PO7,TP7,O1 -o sides.png`,
		Args: session.AtLeast(1, "averages"),
		RunE: func(c *cobra.Command, args []string) error { return a.runAsymmetry(c, f, args) },
	}
	flags := c.Flags()
	f.when.Register(c, "whose means are taken")
	flags.Var(&f.of, "of", "SITE[,SITE]: one side of each pair (default: all pairs)")
	flags.Var(&f.pools, "pool",
		"NAME=SITE,SITE: the mean of sites on one side, against the mirrored ones; repeat for more")
	flags.BoolVar(&f.contra, "contralateral", false,
		"compare contralateral with ipsilateral: of stimuli on the left, then on the right")
	f.cap.Register(c)
	f.placement.Register(c)
	flags.Var(&f.effect, "effect",
		"`SIZE` such as 1uV that placement must not make, or noise: say how well caps must sit")
	flags.BoolVar(&f.sme, "measurement-errors", false,
		"columns for each person's own measurement error, from the saved epochs; of a group their root "+
			"mean square")
	flags.IntVar(&f.arrangements, "arrangements", f.arrangements, "`N` sign flips to draw, where there are more")
	f.averages.Register(c)
	f.averages.RegisterFolders(c, "a grand average's participants in")
	f.spline.Register(c, "gcv finds one")
	f.figure.Register(c)
	flags.Lookup("output").Usage = "`FILE`.tsv for the table, with a JSON beside it; .png, .svg, .pdf or .tiff " +
		"for the figure"
	option.ShowGroups(c,
		option.Group{Title: "What",
			Names: []string{"at", "windows", "of", "pool", "contralateral", "in", "arrangements",
				"reference",
				"capcheck", "placement", "placement-shared", "effect", "measurement-errors"}},
		option.Group{Title: "What is written", Names: []string{"output", "width", "dpi", "source-data"}},
		option.Group{Title: "The field", Names: []string{"spline-order", "spline-smoothing"}},
		option.Group{Title: "The head",
			Names: append([]string{"head", "electrodes"},
				append(slices.Clone(wearer.TapeFlags), "scan", "landmarks", "scan-unit")...)},
	)
	return c
}

func (f *asymmetryFlags) check(a *app, c *cobra.Command, averages int) error {
	f.output = f.figure.Output
	if err := f.figure.CheckDrawn(c, "sides.png", 114); err != nil {
		return err
	}
	if f.figure.Drawn() && (averages > 1 || f.contra) {
		return console.Usagef("a figure shows one average, not %d: draw one after the other", averages)
	}
	if f.arrangements < 99 {
		return console.Usagef("--arrangements %d: expected 99 or more", f.arrangements)
	}
	if err := a.bounded(mostArrangements, f.arrangements); err != nil {
		return err
	}
	if f.contra && f.effect.asked != "" {
		return console.Usagef("--effect is of right minus left: leave it out with --contralateral")
	}
	if f.contra && averages != 2 {
		return console.Usagef("--contralateral takes two averages, of stimuli on the left and on the "+
			"right, not %d",
			averages)
	}
	if err := f.of.Check(); err != nil && !c.Flags().Changed("electrodes") {
		return console.Usagef("--of: %w", err)
	}
	return cmp.Or(f.when.Check(c), f.averages.Check(), f.spline.Check(), f.placement.Check(c))
}

func (a *app) runAsymmetry(c *cobra.Command, f *asymmetryFlags, paths []string) error {
	if err := f.check(a, c, len(paths)); err != nil {
		return err
	}
	if err := f.cap.Read(); err != nil {
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
	if fields.Head.MirroredByPlace(fields.Averages[0].Sites) {
		console.Say(a.Notes(), "note: the pairs are those of sites whose measured places mirror each other, "+
			"not of their names\n")
	}
	table := averages.SavedTable{Path: f.output, Columns: asymmetryColumns(f.contra)}
	out := a.Files(slices.Concat(fields.Inputs(), f.cap.Paths()))
	if f.output != "" && !f.figure.Drawn() {
		if err := out.Plan(table.Path, table.JSON()); err != nil {
			return err
		}
	}
	titles, err := fields.Titles()
	if err != nil {
		return err
	}
	asked := &askedSides{
		Sides: contrast.Sides{
			Of: f.of, Pools: f.pools.List(), Mirror: fields.Head.Pairs,
			Digitised: fields.Head.Measured != nil,
			Cap:       f.cap.Turned(),
			Notes:     fields.Head.Notes,
			Test:      inference.Options{Arrangements: f.arrangements, Seed: a.Seed},
		},
		fields: fields, titles: titles, placement: &f.placement, capcheck: f.cap.Path,
		effect: f.effect, sme: f.sme,
	}
	if f.placement.Checked() {
		asked.Cap = nil // it is undone already
	}
	measure := asked.rightMinusLeft
	if f.contra {
		measure = asked.contralateral
	}
	if asked.found, err = measure(c.Context()); err != nil {
		return err
	}
	table.Rows = asymmetryCells(asked.found)
	if f.effect.asked != "" {
		table.Columns = append(table.Columns, neededColumns...)
		for i, n := range asked.needed {
			table.Rows[i] = append(table.Rows[i], n.cells()...)
		}
	}
	if f.sme {
		table.Columns = append(table.Columns, sideErrorColumns(f.contra)...)
		for i, e := range asked.sideErrors(f.contra) {
			table.Rows[i] = append(table.Rows[i], sideErrorCells(e)...)
		}
	}
	sources := slices.Concat(fields.Sources(), f.cap.Sources(), f.placement.Sources())
	switch {
	case f.figure.Drawn():
		if err = asked.toIdeal(); err != nil {
			return err
		}
		err = f.draw(a, c, out, asked, sources)
	case f.output == "":
		err = console.Table(a.Stdout, table.Columns, table.Rows)
	default:
		record := averages.TableRecord{
			What: "right minus left, in µV", Words: asked.sentences(), Remarks: fields.Remarks(titles),
			Provenance: a.Provenance(c, sources),
			Synthetic: slices.ContainsFunc(fields.Averages,
				func(a *average.Average) bool { return a.Info.Synthetic }),
		}
		if err = table.Put(out, record); err == nil {
			err = out.Write(c.Context())
		}
	}
	if err != nil {
		return err
	}
	asked.report(a.Summary(f.output == ""))
	return nil
}

// askedSides are the averages whose sides are compared, and what was found.
type askedSides struct {
	contrast.Sides
	fields  *fields.Fields
	titles  []string
	samples []contrast.Sample
	found   []contrast.Asymmetry

	sme       bool
	errors    [][]contrast.SideError // with --measurement-errors: of each average's sides
	placement *wearer.Placement
	capcheck  string // the file that was given; empty: none
	effect    effectFlag
	needed    []neededPlacement // with --effect: of each of what was found
}

// rightMinusLeft compares the sides of each average.
func (s *askedSides) rightMinusLeft(ctx context.Context) ([]contrast.Asymmetry, error) {
	var found []contrast.Asymmetry
	for i := range s.fields.Averages {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		more, err := s.ofAverage(ctx, i)
		if repeated, ok := errors.AsType[*contrast.RepeatedError](err); ok {
			return nil, console.Usagef("--of names the pair of %s twice", repeated.Site)
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", s.fields.Paths[i], err)
		}
		found = append(found, more...)
		if s.effect.asked != "" {
			pairs, err := s.Pairs(s.fields.Averages[i].Sites)
			if err != nil {
				return nil, err
			}
			needed, err := s.effect.needs(s.fields, i, pairs, more)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", s.fields.Paths[i], err)
			}
			s.needed = append(s.needed, needed...)
		}
	}
	return found, nil
}

func (s *askedSides) ofAverage(ctx context.Context, i int) ([]contrast.Asymmetry, error) {
	if _, err := s.Pairs(s.fields.Averages[i].Sites); err != nil { // before people are looked for
		return nil, err
	}
	units, read, err := s.fields.UnitsOf(ctx, i)
	if err != nil {
		return nil, err
	}
	if err := s.take(ctx, i, units, read); err != nil {
		return nil, err
	}
	return s.RightMinusLeft(ctx, s.samples[i], s.fields.At)
}

// contralateral compares the sides by the stimulus, of two averages.
func (s *askedSides) contralateral(ctx context.Context) ([]contrast.Asymmetry, error) {
	for i := range s.fields.Averages {
		people, read, err := s.fields.PeopleOf(ctx, i)
		if err != nil {
			return nil, err
		}
		if err := s.take(ctx, i, people, read); err != nil {
			return nil, fmt.Errorf("%s: %w", s.fields.Paths[i], err)
		}
	}
	found, err := s.Contralateral(ctx, s.samples[0], s.samples[1], s.fields.At)
	if other, ok := errors.AsType[*contrast.MismatchError](err); ok {
		err = fmt.Errorf("%s and %s %s: --contralateral needs the same", s.fields.Paths[0], s.fields.Paths[1],
			other.Reason)
	}
	if repeated, ok := errors.AsType[*contrast.RepeatedError](err); ok {
		err = console.Usagef("--of names the pair of %s twice", repeated.Site)
	}
	return found, err
}

// take notes an average with what is behind it, its spline, how the caps sat,
// and its measurement errors.
func (s *askedSides) take(ctx context.Context, i int, units []*average.Average, read []string) (err error) {
	avg := s.fields.Averages[i]
	s.fields.Files = append(s.fields.Files, read...)
	s.samples = append(s.samples, contrast.Sample{Title: s.titles[i], Average: avg, Units: units})
	if s.Spline, err = s.fields.Spline(avg); err != nil {
		return err
	}
	if s.placement.Asked() {
		if s.Placement, err = s.placement.Of(s.samples[i], s.Spline.Radius(), append(read, s.fields.Paths[i]),
			s.capcheck); err != nil {
			return err
		}
	}
	if s.sme {
		errors, err := s.MeasurementErrors(ctx, s.fields.Measured(ctx, i), s.fields.At)
		if err != nil {
			return err
		}
		s.errors = append(s.errors, errors)
	}
	return nil
}

// toIdeal takes the average to the ideal sites, where anything is known of how
// the caps sat, so that maps and waveforms are those of the intervals.
func (s *askedSides) toIdeal() (err error) {
	if s.Placement == nil {
		return nil
	}
	if s.samples[0], err = s.Placement.AtIdeal(s.samples[0], s.Spline); err == nil {
		s.fields.Averages[0] = s.samples[0].Average
	}
	return err
}
