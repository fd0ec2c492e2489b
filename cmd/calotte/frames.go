package main

import (
	"cmp"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/fields"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/session"
	"calotte/cmd/internal/wearer"
	"calotte/render/canvas"
	"calotte/render/film"
	"calotte/topo/erp/average"
	"calotte/topo/measure"
	"calotte/topo/unit"
)

type framesFlags struct {
	averages  averages.Flags
	spline    fields.Spline
	during    unit.Span
	every     unit.Time
	what      fields.What
	land      fields.Territory
	placement wearer.Placement
	limit     string
	side      int
	speed     float64
	output    string
}

// calmSpeed is how many frames a second are shown at most unless asked: a flash
// takes two frames, so there are at most three flashes a second, whatever the
// frames show.
const calmSpeed = 6

// heldLast is how long a film holds its last frame.
const heldLast = 2 * time.Second

func (a *app) frames() *cobra.Command {
	f := &framesFlags{what: fields.NewWhat(), spline: fields.NewSpline(), land: fields.NewTerritory(),
		side: 480, speed: calmSpeed}
	c := &cobra.Command{
		Use:   "frames AVERAGE…",
		Short: "Draw maps as frames of a film",
		Long: `Frames draws a map for each instant: the conditions side by side on one scale, with
their field power and a cursor below. With -o DIR it writes numbered PNG files and an
index; with -o film.gif or film.apng one file that loops and holds its last frame.

One line makes a video of the numbered frames:
  ffmpeg -framerate 6 -i DIR/frame-%05d.png -pix_fmt yuv420p film.mp4

At the default speed a film flashes at most three times a second, whatever it shows.
Flashing pictures can provoke seizures: ask before you show a faster one.`,
		Example: `  calotte frames calotte-demo/results/group/pilots_known_average.tsv calotte-demo/results/group/pilots_novel_average.tsv \
    --during 0..300ms --every 20ms -o frames
  calotte frames calotte-demo/results/group/pilots_known_average.tsv --during 100..250ms --every 10ms -o film.gif`,
		Args: session.AtLeast(1, "averages"),
		RunE: func(c *cobra.Command, args []string) error { return a.runFrames(c, f, args) },
	}
	flags := c.Flags()
	flags.Var(&f.during, "during", "the time to draw (default: all)")
	flags.Var(&f.every, "every", "from one frame to the next (default: a sample)")
	flags.StringVar(&f.limit, "limit", "", "`VALUE` at the ends of the scale, such as 8uV")
	flags.IntVar(&f.side, "side", f.side, "`PIXELS` of a condition's square")
	flags.Float64Var(&f.speed, "speed", f.speed, "`FRAMES` a second of a film")
	flags.Var(&f.what.Quantity, "field", "potential; interpolation, or error: how far it may be off (see map)")
	flags.Var(&f.what.Doubt, "doubt",
		"stipple what is within so many errors of zero: 2sem, 2interpolation or 2error (see map)")
	f.land.Register(c)
	f.placement.Register(c)
	f.averages.Register(c)
	f.averages.RegisterFolders(c, errorsFrom)
	f.spline.Register(c, "")
	flags.StringVarP(&f.output, "output", "o", "", "`DIR`, or FILE.gif or FILE.apng")
	session.Optional(flags, "during", "every", "doubt")
	option.ShowGroups(c,
		option.Group{Title: "What", Names: []string{"during", "every", "field", "reference", "in"}},
		option.Group{Title: "What is not known",
			Names: []string{"doubt", "placement", "placement-shared", "overhang", "extrapolate"}},
		option.Group{Title: "How it looks", Names: []string{"limit", "side", "speed", "output"}},
		option.Group{Title: "The field", Names: []string{"spline-order", "spline-smoothing"}},
		option.Group{Title: "The head",
			Names: append([]string{"head", "electrodes"},
				append(slices.Clone(wearer.TapeFlags), "scan", "landmarks", "scan-unit")...)},
	)
	return c
}

// movingFormats are the endings of films.
var movingFormats = map[string]canvas.MovingFormat{".gif": canvas.GIF, ".apng": canvas.APNG}

func isFilm(path string) bool {
	_, ok := movingFormats[strings.ToLower(filepath.Ext(path))]
	return ok
}

func (f *framesFlags) check(a *app, c *cobra.Command) (limit float64, err error) {
	if err := session.Required(c, "output", "-o frames, or -o film.gif"); err != nil {
		return 0, err
	}
	if filepath.Ext(f.output) != "" && !isFilm(f.output) {
		return 0, console.Usagef("-o %s: expected a folder, or a name that ends in .gif or .apng", f.output)
	}
	if c.Flags().Changed("every") && !(f.every >= 1e-6) {
		return 0, console.Usagef("--every %v: expected a microsecond or more, such as 4ms", f.every)
	}
	if f.side < 240 || f.side > 2000 {
		return 0, console.Usagef("--side %d: expected 240 to 2000 pixels", f.side)
	}
	if !(f.speed >= .1 && f.speed <= 50) {
		return 0, console.Usagef("--speed %v: expected 0.1 to 50 frames a second", f.speed)
	}
	if f.speed > calmSpeed {
		a.Warn([]string{fmt.Sprintf("a film of more than %d frames a second can flash more than three times a "+
			"second, which can provoke seizures: ask before you show it", calmSpeed)})
	}
	if f.spline.Smoothing.Find {
		return 0, console.Usagef("--spline-smoothing gcv is for maps of a few latencies: give the number " +
			"that map says")
	}
	switch f.what.Quantity {
	case option.Potential, option.Interpolation, option.AllErrors:
	default:
		return 0, console.Usagef("--field %v: films show potential, interpolation or error", f.what.Quantity)
	}
	err = cmp.Or(f.what.CheckDoubt(), f.land.Check(), f.placement.Check(c), f.what.CheckPlacement(&f.placement),
		f.averages.Check(),
		f.what.Check(a.Session, f.averages.Folders, f.spline.Order))
	if err != nil {
		return 0, err
	}
	return option.Potential.Limit(f.limit)
}

func (a *app) runFrames(c *cobra.Command, f *framesFlags, paths []string) error {
	limit, err := f.check(a, c)
	if err != nil {
		return err
	}
	fields, err := f.read(a, c, paths)
	if err != nil {
		return err
	}
	if err := fields.Ask(c.Context(), f.what); err != nil {
		return err
	}
	film, err := f.film(fields)
	if err != nil {
		return err
	}
	if err := fields.PlacedRows(c.Context(), film.Rows, &f.placement); err != nil {
		return err
	}
	film.Limit = limit
	out := a.Files(fields.Inputs())
	writer, err := f.writer(out)
	if err != nil {
		return err
	}
	plate, err := film.Compose()
	if err != nil {
		return err
	}
	bar := console.NewBar(a.Stderr, a.Quiet, len(film.Times), "drawing frames")
	made := a.Provenance(c, slices.Concat(fields.Sources(), f.placement.Sources()))
	err = writer.write(c.Context(), out, plate, film, made, func() { bar.Add(1) })
	bar.Clear()
	if err != nil {
		return err
	}
	from := "±"
	if plate.Scale.OneSided {
		from = "0 to "
	}
	fmt.Fprintf(a.Summary(false), "%s of %d × %d pixels → %s\n  scale %s%g µV, contours every %g µV\n"+
		"  left and right are the wearer's\n", console.Plural(len(film.Times), "frame", "frames"),
		plate.Width, plate.Height, f.output, from, plate.Scale.Limit, plate.Scale.Step)
	return nil
}

// read loads the averages; the latencies are those of the frames.
func (f *framesFlags) read(a *app, c *cobra.Command, paths []string) (*fields.Fields, error) {
	tables, err := f.averages.Read(a.Session, c, paths)
	if err != nil {
		return nil, err
	}
	first := tables.Averages[0]
	for i, avg := range tables.Averages {
		if !slices.Equal(avg.Times, first.Times) {
			return nil, fmt.Errorf("%s and %s have other samples: draw averages of one rate and epoch",
				paths[0],
				paths[i])
		}
	}
	begin, end := first.Times[0], first.Times[len(first.Times)-1]
	if !c.Flags().Changed("during") {
		f.during = unit.Span{From: unit.Time(begin), To: unit.Time(end)}
	}
	if !c.Flags().Changed("every") {
		f.every = unit.Time(1 / first.Rate())
	}
	n := int(math.Floor(float64((f.during.To-f.during.From)/f.every)+1e-6)) + 1
	if err := cmp.Or(a.bounded(mostFrames, n),
		a.bounded(mostPixels, n, len(tables.Averages), f.side, f.side)); err != nil {
		return nil, fmt.Errorf("--every %v: %w", f.every, err)
	}
	var when fields.When
	for k := range n {
		at := unit.Time(math.Round(float64(f.during.From)*1e9+float64(k)*float64(f.every)*1e9) / 1e9)
		when.At = append(when.At, unit.At(at))
	}
	if err := c.Flags().Set("every", f.every.String()); err != nil {
		return nil, err
	}
	return f.spline.Read(a.Session, c, tables, when)
}

// film gathers what the frames show.
func (f *framesFlags) film(read *fields.Fields) (*film.Film, error) {
	titles, err := read.Titles()
	if err != nil {
		return nil, err
	}
	film := &film.Film{Side: f.side, Head: read.Head.Model, Reference: read.Reference(),
		PowerTimes: read.Averages[0].Times, Shows: f.what.Quantity.Showing(), Boundary: f.what.Doubt.Boundary,
		Overhang: float64(f.land.Overhang), Extrapolate: f.land.Extrapolate}
	for _, at := range read.At {
		film.Times = append(film.Times, float64(at.From))
	}
	var noise []float64
	for i, avg := range read.Averages {
		row, err := read.Row(i, avg, titles[i])
		if err != nil {
			return nil, err
		}
		film.Rows = append(film.Rows, row)
		film.Power = append(film.Power, fieldPower(avg))
		film.Synthetic = film.Synthetic || avg.Info.Synthetic
		for _, sem := range avg.SEM {
			noise = append(noise, sem...)
		}
	}
	if len(noise) > 0 {
		film.StandardError = measure.Median(noise)
	}
	return film, nil
}

// fieldPower is that of every sample.
func fieldPower(avg *average.Average) []float64 {
	power, column := make([]float64, len(avg.Times)), make([]float64, len(avg.Sites))
	for t := range power {
		for s, row := range avg.Mean {
			column[s] = row[t]
		}
		power[t] = measure.FieldPower(column)
	}
	return power
}
