package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/session"
	"calotte/cmd/internal/wearer"
	"calotte/layout"
	"calotte/layout/digitised"
)

type placeFlags struct {
	head      wearer.Flags
	positions wearer.Electrodes
	sites     option.Sites
	wearer    string
	notes     wearer.Notes
	format    option.Format
	output    string
}

func (a *app) place() *cobra.Command {
	f := placeFlags{sites: option.Sites{Text: "10-20", Names: layout.Set1020()}}
	c := &cobra.Command{
		Use:   "place [A_electrodes.tsv B_electrodes.tsv]",
		Short: "Say where the electrodes go on a head that you measured",
		Long: `Place follows the proportional rules of the 10-20, 10-10 and 10-5 systems on a head.
The circumference alone makes the head a sphere; with the arcs from nasion to inion
and from ear to ear it is an ellipsoid on which the tape reads the same three lengths
(its axes reproduce the tape, not the head's breadth and length). Halves that were
measured apart are each divided by themselves. --scan takes the head as it was scanned.

The table gives each site in mm (x to the wearer's right ear, y to the nasion, z up,
from the centre of the head model), and where a tape finds it: along which arc, from
which end, how far.

With -o NAME_electrodes.tsv it writes that file, NAME_coordsystem.json and the head
file NAME_head.json, which every verb takes by --head; -o NAME_head.json writes only
the last. Two such files are compared, site by site.

Ask first about wounds, implants, recent head surgery and allergies; local rules and
a licensed practitioner decide.`,
		Example: `  calotte place --circumference 560mm --nasion-inion 36.5cm --ear-ear 34cm
  calotte place --head calotte-demo/pilots_head.json --sites 10-10 -o P014_electrodes.tsv`,
		Args: session.AtMost(2, "two files of electrodes, or none"),
		RunE: func(c *cobra.Command, args []string) error {
			switch len(args) {
			case 0:
				return a.runPlace(c, f)
			case 1:
				return console.Usagef("place compares two files of electrodes: give a second one")
			}
			for _, name := range []string{wearer.HeadGiven(c), "sites", "output", "wearer", "note"} {
				if name != "" && c.Flags().Changed(name) {
					return console.Usagef("two files are compared as they are: leave out --%s",
						name)
				}
			}
			return a.comparePlaces(f, args[0], args[1])
		},
	}
	flags := c.Flags()
	f.head.Register(c)
	f.positions.Register(c, false)
	flags.Var(&f.sites, "sites", "10-20, 10-10, 10-5, or SITE[,SITE]")
	flags.StringVar(&f.wearer, "wearer", "", "the wearer's `CODE`, never a name, for the head file")
	flags.Var(&f.notes, "note",
		"for the head file, as \"scar left above the ear\"; also shunt, plate, skull defect, inion uncertain; "+
			"repeat for more")
	flags.Var(&f.format, "format", "of the table on standard output: tsv or json")
	flags.StringVarP(&f.output, "output", "o", "", "`FILE`: NAME_electrodes.tsv or NAME_head.json")
	return c
}

func (a *app) runPlace(c *cobra.Command, f placeFlags) error {
	head, err := f.head.Read(a.Session, c)
	if err != nil {
		return err
	}
	if f.wearer != "" {
		if err := checkCode(f.wearer); err != nil {
			return err
		}
		head.Wearer = f.wearer
	}
	head.Notes = append(head.Notes, f.notes...)
	placed, err := layout.Place(head.Surface, f.sites.Names)
	if err != nil {
		return &console.UsageError{Err: err}
	}
	for i, written := range f.sites.Columns() {
		placed[i].Name = written
	}
	if f.output == "" {
		if err := printPlacements(a.Stdout, f.format, placed); err != nil {
			return err
		}
		w := a.Summary(true)
		console.Say(w, "%s on %s; left and right are the wearer's\n",
			console.Plural(len(placed), "site", "sites"),
			head.Describe())
		fmt.Fprintln(w, "A straight tape follows the midline, the ear-to-ear arc and the ring only: the other "+
			"arcs curve.")
		return nil
	}
	return a.savePlacements(c, f, head, placed)
}

func (a *app) savePlacements(c *cobra.Command, f placeFlags, head *wearer.Head, placed []layout.Placement) error {
	base := filepath.Base(f.output)
	name, sites := strings.CutSuffix(base, wearer.ElectrodesEnding)
	if !sites {
		var headOnly bool
		if name, headOnly = strings.CutSuffix(base, wearer.HeadEnding); !headOnly {
			return console.Usagef("-o %s: expected a name that ends in %s or %s", f.output,
				wearer.ElectrodesEnding,
				wearer.HeadEnding)
		}
	}
	var headFile, electrodes, coordinates bytes.Buffer
	if err := head.Encode(&headFile); err != nil {
		return &console.UsageError{Err: err}
	}
	type file struct {
		ending  string
		content *bytes.Buffer
	}
	var set []file
	if sites {
		if err := digitised.WriteElectrodes(&electrodes, layout.Sites(placed)); err != nil {
			return err
		}
		if err := digitised.RAS(head.Surface).Encode(&coordinates); err != nil {
			return err
		}
		set = []file{{wearer.ElectrodesEnding, &electrodes}, {wearer.CoordinatesEnding, &coordinates}}
	}
	// Sites that were placed on a head file beside them leave it as it is.
	folder := filepath.Dir(f.output)
	if !sites || filepath.Clean(f.head.File) != filepath.Join(folder, name+wearer.HeadEnding) {
		set = append(set, file{wearer.HeadEnding, &headFile})
	}
	out := a.Files(head.Paths)
	var paths []string
	for _, s := range set {
		paths = append(paths, filepath.Join(folder, name+s.ending))
		out.Put(paths[len(paths)-1], s.content.Bytes())
	}
	if err := out.Plan(paths...); err != nil {
		return err
	}
	if err := out.Write(c.Context()); err != nil {
		return err
	}
	w := a.Summary(false)
	if sites {
		console.Say(w, "%s on %s\n", console.Plural(len(placed), "site", "sites"), head.Describe())
	}
	console.Say(w, "wrote %s\n", strings.Join(paths, ", "))
	if head.Scanned {
		fmt.Fprintln(a.Notes(), "note: the head file holds the scan's measures, not its shape: give "+
			"--scan again "+
			"where the shape matters")
	}
	console.Say(w, "next: calotte map A_average.tsv --head %s --at 170ms -o map.pdf\n",
		filepath.Join(folder, name+wearer.HeadEnding))
	return nil
}

func printPlacements(w io.Writer, f option.Format, placed []layout.Placement) error {
	if f.JSON {
		type row struct {
			Name     string  `json:"name"`
			X        float64 `json:"x"`
			Y        float64 `json:"y"`
			Z        float64 `json:"z"`
			Arc      string  `json:"arc"`
			From     string  `json:"from"`
			Distance float64 `json:"distance"`
		}
		rows := make([]row, len(placed))
		for i, p := range placed {
			rows[i] = row{p.Name, p.Position.X, p.Position.Y, p.Position.Z, p.Arc, string(p.From),
				p.Distance}
		}
		return json.NewEncoder(w).Encode(rows)
	}
	rows := make([][]string, len(placed))
	for i, p := range placed {
		rows[i] = []string{p.Name, decimals(p.Position.X, 4), decimals(p.Position.Y, 4),
			decimals(p.Position.Z, 4),
			p.Arc, string(p.From), decimals(p.Distance, 4)}
	}
	return console.Table(w, []string{"name", "x", "y", "z", "arc", "from", "distance"}, rows)
}

// comparePlaces prints how far the sites of one file are from those of another.
func (a *app) comparePlaces(f placeFlags, pathA, pathB string) error {
	if pathA == pathB {
		return console.Usagef("%s is given twice", pathA)
	}
	options, err := f.positions.Options(nil)
	if err != nil {
		return err
	}
	var read wearer.Head
	pointsA, coordinatesA, err := read.ReadPoints(pathA)
	if err != nil {
		return err
	}
	pointsB, coordinatesB, err := read.ReadPoints(pathB)
	if err != nil {
		return err
	}
	first, second, err := digitised.DigitisePair(pointsA, pointsB, coordinatesA, coordinatesB, options)
	if err != nil {
		return fmt.Errorf("%s and %s: %w", pathA, pathB, err)
	}
	a.Warn(first.Warnings)
	a.Warn(second.Warnings)
	c, err := digitised.Compare(first.Sites, second.Sites)
	if err != nil {
		return err
	}
	if f.format.JSON {
		return json.NewEncoder(a.Stdout).Encode(c)
	}
	rows := make([][]string, len(c.Sites))
	for i, s := range c.Sites {
		rows[i] = []string{s.Name, decimals(s.Along, 2), decimals(s.Straight, 2), decimals(s.Radial, 2)}
	}
	if err := console.Table(a.Stdout, []string{"name", "along", "straight", "radial"}, rows); err != nil {
		return err
	}
	w := a.Summary(true)
	console.Say(w, "%s in both; along the scalp: median %.1f mm, largest %.1f mm\n",
		console.Plural(len(c.Sites), "site", "sites"), c.Median, c.Max)
	for _, only := range []struct {
		path  string
		sites []string
	}{{pathA, c.OnlyA}, {pathB, c.OnlyB}} {
		if len(only.sites) > 0 {
			console.Say(w, "only in %s: %s\n", only.path, strings.Join(only.sites, " "))
		}
	}
	return nil
}

// decimals writes v with the given number of decimals, and no minus before
// zero.
func decimals(v float64, n int) string {
	text := strconv.FormatFloat(v, 'f', n, 64)
	if strings.Trim(text, "-0.") == "" {
		return strings.TrimPrefix(text, "-")
	}
	return text
}
