package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"path/filepath"

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

type capcheckFlags struct {
	head      wearer.Flags
	positions wearer.Electrodes
	tape      string
	limit     unit.Length
	width     unit.Length
	format    option.Format
	output    string
}

func (a *app) capcheck() *cobra.Command {
	f := capcheckFlags{width: 114}
	c := &cobra.Command{
		Use:   "capcheck [CAP_electrodes.tsv]",
		Short: "Say how far a fitted cap is off, and which way to move it",
		Long: `Capcheck compares digitised electrodes with the sites that their names promise on this
head: how far each is off along the scalp, the turn of the cap that explains it best
and how sure that is, and what remains. It finds sides that are swapped and
electrodes that are exchanged, and says in numbered steps what to do.

Without a digitiser, --tape takes what a tape reads from landmarks to electrodes.

The table goes to standard output, the advice to standard error; -o draws it.
Left and right are the wearer's.`,
		Example: `  calotte capcheck --tape "Nz-Fpz 4.2cm, Iz-Oz 3.0cm, LPA-T7 3.4cm, RPA-T8 3.9cm" \
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
	check, ideal, err := a.checkCap(f, args, head)
	if err != nil {
		return err
	}
	a.Warn(check.Warnings)
	if err := printCapCheck(a, f.format, check); err != nil {
		return err
	}
	w := a.Summary(true)
	fmt.Fprint(w, check.Instructions())
	fmt.Fprintln(w, check.Turn)
	if f.output == "" {
		return nil
	}
	out := a.Files(head.Paths)
	if err := out.Plan(f.output); err != nil {
		return err
	}
	drawn, err := (&cap.Cap{
		Check: check, Ideal: ideal, Head: head.Model, Width: vg.Length(f.width) * vg.Millimeter,
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

// checkCap checks by digitised points or by tape; the files read are added to
// the head's sources.
func (a *app) checkCap(f capcheckFlags, args []string,
	head *wearer.Head) (check capcheck.Check, ideal []layout.Site, err error) {
	options := capcheck.Options{Limit: float64(f.limit), Head: head.Surface}
	if len(args) == 0 {
		tapes, err := capcheck.ParseTapes(f.tape)
		if err != nil {
			return check, nil, console.Usagef("--tape: %w", err)
		}
		placed, err := layout.Place(head.Surface, layout.Set1020())
		if err != nil {
			return check, nil, err
		}
		check, err = capcheck.CheckTapes(head.Surface, tapes, options)
		return check, layout.Sites(placed), err
	}
	points, err := f.positions.Digitise(a.Session, args[0], head)
	if err != nil {
		return check, nil, err
	}
	var wanted []layout.Name
	for _, s := range points.Sites {
		if n, err := layout.Parse(s.Name); err == nil && n.Kind() == layout.Scalp {
			wanted = append(wanted, n)
		}
	}
	if len(wanted) == 0 {
		return check, nil, fmt.Errorf("%s: none of the %d points is named after a site, so none has a "+
			"place to be "+
			"compared with", args[0], len(points.Sites))
	}
	placed, err := layout.Place(head.Surface, wanted)
	if err != nil {
		return check, nil, fmt.Errorf("%s: %w", args[0], err)
	}
	options.Axes = points.AxesCovariance
	ideal = layout.Sites(placed)
	check, err = capcheck.CheckSites(ideal, points.Sites, options)
	if err != nil {
		err = fmt.Errorf("%s: %w", args[0], err)
	}
	return check, ideal, err
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
