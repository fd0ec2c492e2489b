package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"
	"gonum.org/v1/plot/vg"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/figure"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/session"
	"calotte/cmd/internal/wearer"
	"calotte/layout"
	"calotte/layout/capcheck"
	"calotte/render/canvas"
	"calotte/render/cap"
	"calotte/topo/unit"
)

// narrowestCap is the least width at which the drawing's text has room.
const narrowestCap = unit.Length(80) // mm

// usualLandmark is how sure a landmark is that is felt and touched (common
// practice, no source), mostLandmark what nobody would call one.
const usualLandmark, mostLandmark = unit.Length(2), unit.Length(20) // mm

type capcheckFlags struct {
	head      wearer.Flags
	positions wearer.Electrodes
	tape      string
	limit     unit.Length
	landmark  unit.Length
	width     unit.Length
	format    option.Format
	output    string
}

func (a *app) capcheck() *cobra.Command {
	f := capcheckFlags{width: 114, landmark: usualLandmark}
	c := &cobra.Command{
		Use:   "capcheck [CAP_electrodes.tsv]",
		Short: "Say how far a fitted cap is off, and which way to move it",
		Long: `Capcheck compares digitised electrodes with the sites that their names promise on this
head: how far each is off along the scalp, the turn of the cap that explains it best
and how sure that is, and what remains. It finds sides that are swapped and
electrodes that are exchanged, and says in numbered steps what to do.

Without a digitiser, --tape takes what a tape reads from landmarks to electrodes. The
short ways up from nasion, inion and ears see slides; only ways such as from the ears
to Fpz see a turn about the vertical. What the readings do not see is said, with the
one to take next. How well a cap has to sit for what you want to measure, and the readings
that get there, are told by calotte asymmetry --effect.

The advice, in one line, and the numbers behind it go to standard error, the table to
standard output; -o draws it. Left and right are the wearer's.`,
		Example: `  calotte capcheck --tape "Nz-Fpz 4.2cm, Iz-Oz 3.0cm, LPA-T7 3.4cm, RPA-T8 3.9cm, \
    LPA-Fpz 13.9cm, RPA-Fpz 14.8cm" \
    --circumference 560mm --nasion-inion 36cm --ear-ear 34.5cm
  calotte place --circumference 560mm --nasion-inion 36cm --ear-ear 34.5cm -o P014_electrodes.tsv
  calotte capcheck P014_electrodes.tsv --head P014_head.json --limit 5mm -o capcheck.svg`,
		Args: session.AtMost(1, "one file of electrodes"),
		RunE: func(c *cobra.Command, args []string) error { return a.runCapcheck(c, f, args) },
	}
	flags := c.Flags()
	f.head.Register(c)
	f.positions.Register(c, false)
	flags.StringVar(&f.tape, "tape", "", "`READINGS` instead of a file: \"Nz-Fpz 4.2cm, Iz-Oz 3.0cm, …\"")
	flags.Var(&f.limit, "limit", "how far an electrode may be off along the scalp")
	flags.Var(&f.landmark, "landmark-error", "standard error of each coordinate of a digitised landmark")
	flags.Var(&f.width, "width", "of the drawing")
	flags.Var(&f.format, "format", "of the table: tsv or json")
	flags.StringVarP(&f.output, "output", "o", "", "`FILE`.png, .svg or .pdf for the drawing")
	session.Optional(flags, "limit")
	return c
}

func (a *app) runCapcheck(c *cobra.Command, f capcheckFlags, args []string) error {
	if (len(args) == 1) == (f.tape != "") {
		return console.Usagef("capcheck needs a file of electrodes, or --tape with readings, and not both")
	}
	if wearer.HeadGiven(c) == "" {
		return console.Usagef("capcheck compares with this head: give --head, its tape measures or --scan")
	}
	if f.tape != "" && (f.positions.Axes != "" || f.positions.Unit != "" || f.positions.TipOffset != 0) {
		return console.Usagef("--axes, --unit and --tip-offset say how to read a file of electrodes: " +
			"leave them out " +
			"with --tape")
	}
	if f.tape != "" && c.Flags().Changed("landmark-error") {
		return console.Usagef("--landmark-error is of digitised landmarks: leave it out with --tape")
	}
	if !(f.landmark > 0 && f.landmark <= mostLandmark) {
		return console.Usagef("--landmark-error %v: expected more than 0 and up to %v, such as 4mm", f.landmark,
			mostLandmark)
	}
	if c.Flags().Changed("limit") && f.limit <= 0 {
		return console.Usagef("--limit %v: expected more than 0, such as 5mm", f.limit)
	}
	if f.width < narrowestCap || f.width > figure.Widest {
		return console.Usagef("--width %v: expected %v to %v, such as 114mm", f.width, narrowestCap,
			figure.Widest)
	}
	drawing, err := canvas.ParseFormat(filepath.Ext(f.output))
	if f.output != "" && err != nil {
		return console.Usagef("-o %s: %w", f.output, err)
	}
	head, err := f.head.Read(a.Session, c)
	if err != nil {
		return err
	}
	found, err := a.checkCap(f, args, head)
	if err != nil {
		return err
	}
	check := found.check
	a.Warn(check.Warnings)
	w := a.Summary(true)
	fmt.Fprintln(w, check.Headline())
	if err := printCapCheck(a, f.format, check); err != nil {
		return err
	}
	fmt.Fprint(w, check.Numbers())
	if found.landmarks {
		fmt.Fprintf(w, "± are standard errors, from landmarks with errors of %v in each coordinate "+
			"(--landmark-error) and the scatter of the electrodes\n", f.landmark)
	}
	if f.output == "" {
		return nil
	}
	out := a.Files(head.Paths)
	if err := out.Plan(f.output); err != nil {
		return err
	}
	drawn, err := (&cap.Cap{
		Check: check, Ideal: found.ideal, Head: head.Model, Width: vg.Length(f.width) * vg.Millimeter,
	}).Compose()
	if err != nil {
		return err
	}
	var file bytes.Buffer
	if err := canvas.Write(&file, drawn, drawing, a.Provenance(c, head.Sources)); err != nil {
		return err
	}
	out.Put(f.output, file.Bytes())
	return out.Write(c.Context())
}

// A checkedCap is what was found, against which sites.
type checkedCap struct {
	check     capcheck.Check
	ideal     []layout.Site
	landmarks bool // the errors are also those of landmarks
}

// checkCap checks by digitised points or by tape; the files read are added to
// the head's sources.
func (a *app) checkCap(f capcheckFlags, args []string, head *wearer.Head) (found checkedCap, err error) {
	options := capcheck.Options{Limit: float64(f.limit), Head: head.Surface}
	if len(args) == 0 {
		tapes, err := capcheck.ParseTapes(f.tape)
		if err != nil {
			return found, console.Usagef("--tape: %w", err)
		}
		placed, err := layout.Place(head.Surface, layout.Set1020())
		if err != nil {
			return found, err
		}
		found.ideal = layout.Sites(placed)
		found.check, err = capcheck.CheckTapes(head.Surface, tapes, options)
		return found, err
	}
	f.positions.LandmarkError = f.landmark
	points, err := f.positions.Digitise(a.Session, args[0], head)
	if err != nil {
		return found, err
	}
	var wanted []layout.Name
	for _, s := range points.Sites {
		n, err := layout.Parse(s.Name)
		if err == nil && n.Kind() == layout.Scalp && !slices.Contains(points.Labels, s.Name) {
			wanted = append(wanted, n)
		}
	}
	if len(wanted) == 0 {
		return found, fmt.Errorf("%s: none of the %d points is named after a site, so none has a "+
			"place to be compared with", args[0], len(points.Sites))
	}
	placed, err := layout.Place(head.Surface, wanted)
	if err != nil {
		return found, fmt.Errorf("%s: %w", args[0], err)
	}
	options.Axes = points.AxesCovariance
	found.landmarks = options.Axes != layout.PoseCovariance{}
	found.ideal = layout.Sites(placed)
	found.check, err = capcheck.CheckSites(found.ideal, points.Sites, options)
	if err != nil {
		err = fmt.Errorf("%s: %w", args[0], err)
	}
	return found, err
}

func printCapCheck(a *app, f option.Format, c capcheck.Check) error {
	if f.JSON {
		return json.NewEncoder(a.Stdout).Encode(c)
	}
	if len(c.Tapes) > 0 {
		rows := make([][]string, len(c.Tapes))
		for i, t := range c.Tapes {
			rows[i] = []string{t.String(), decimals(t.Distance, 1), decimals(t.Should, 1),
				decimals(t.Off, 1),
				decimals(t.Remains, 1)}
		}
		return console.Table(a.Stdout, []string{"tape", "measured", "should", "off", "remains"}, rows)
	}
	rows := make([][]string, len(c.Sites))
	for i, s := range c.Sites {
		rows[i] = []string{s.Name, decimals(s.Along, 2), decimals(s.Off.X, 2), decimals(s.Off.Y, 2),
			decimals(s.Off.Z, 2), decimals(s.Radial, 2), decimals(s.Remains, 2)}
	}
	return console.Table(a.Stdout, []string{"name", "along", "right", "front", "up", "radial", "remains"}, rows)
}
