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
	"calotte/layout"
)

const (
	electrodesEnding  = "_electrodes.tsv"
	coordinatesEnding = "_coordsystem.json"
	headEnding        = "_head.json"
)

type placeFlags struct {
	head   headFlags
	sites  siteSet
	wearer string
	format format
	output string
}

func (a *app) place() *cobra.Command {
	f := placeFlags{sites: siteSet{"10-20", layout.Set1020()}}
	c := &cobra.Command{
		Use:   "place",
		Short: "Say where the electrodes go on a head that you measured",
		Long: `Place follows the proportional rules of the 10-20, 10-10 and 10-5 systems on a head.
The circumference alone makes the head a sphere; with the arcs from nasion to inion
and from ear to ear it is an ellipsoid on which the tape reads the same three lengths.

The table gives each site in mm (x to the wearer's right ear, y to the nasion, z up,
from the centre of the head model), and where a tape finds it: along which arc, from
which end, how far.

With -o NAME_electrodes.tsv it writes that file, NAME_coordsystem.json and the head
file NAME_head.json, which every verb takes by --head; -o NAME_head.json writes only
the last.

Ask first about wounds, implants, recent head surgery and allergies; local rules and
a licensed practitioner decide.`,
		Example: `  calotte place --circumference 560mm --nasion-inion 36.5cm --ear-ear 34cm
  calotte place --head calotte-demo/pilots_head.json --sites 10-10 -o P014_electrodes.tsv`,
		Args: atMost(0, "no arguments"),
		RunE: func(c *cobra.Command, _ []string) error { return a.runPlace(c, f) },
	}
	flags := c.Flags()
	f.head.register(c)
	flags.Var(&f.sites, "sites", "10-20, 10-10, 10-5, or SITE[,SITE]")
	flags.StringVar(&f.wearer, "wearer", "", "the wearer's `CODE`, never a name, for the head file")
	flags.Var(&f.format, "format", "of the table on standard output: tsv or json")
	flags.StringVarP(&f.output, "output", "o", "", "`FILE`: NAME_electrodes.tsv or NAME_head.json")
	return c
}

func (a *app) runPlace(c *cobra.Command, f placeFlags) error {
	head, err := f.head.read(a, c)
	if err != nil {
		return err
	}
	if f.wearer != "" {
		head.Wearer = f.wearer
	}
	placed, err := layout.Place(head.model, f.sites.names)
	if err != nil {
		return &console.UsageError{Err: err}
	}
	if f.output == "" {
		if err := printPlacements(a.stdout, f.format, placed); err != nil {
			return err
		}
		w := a.summary(true)
		fmt.Fprintf(w, "%s on %s; left and right are the wearer's\n", console.Plural(len(placed), "site", "sites"), head.describe())
		fmt.Fprintln(w, "A straight tape follows the midline, the ear-to-ear arc and the ring only: the other arcs curve.")
		return nil
	}
	return a.savePlacements(c, f, head, placed)
}

func (a *app) savePlacements(c *cobra.Command, f placeFlags, head *wearer, placed []layout.Placement) error {
	base := filepath.Base(f.output)
	name, sites := strings.CutSuffix(base, electrodesEnding)
	if !sites {
		var headOnly bool
		if name, headOnly = strings.CutSuffix(base, headEnding); !headOnly {
			return console.Usagef("-o %s: expected a name that ends in %s or %s", f.output, electrodesEnding, headEnding)
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
		if err := layout.WriteElectrodes(&electrodes, layout.Sites(placed)); err != nil {
			return err
		}
		if err := layout.RAS(head.model).Encode(&coordinates); err != nil {
			return err
		}
		set = []file{{electrodesEnding, &electrodes}, {coordinatesEnding, &coordinates}}
	}
	// Sites that were placed on a head file beside them leave it as it is.
	folder := filepath.Dir(f.output)
	if !sites || filepath.Clean(f.head.file) != filepath.Join(folder, name+headEnding) {
		set = append(set, file{headEnding, &headFile})
	}
	var inputs []string
	if f.head.file != "" {
		inputs = append(inputs, f.head.file)
	}
	out := a.files(inputs)
	var paths []string
	for _, s := range set {
		paths = append(paths, filepath.Join(folder, name+s.ending))
		out.Put(paths[len(paths)-1], s.content.Bytes())
	}
	if err := out.Plan(paths...); err != nil {
		return err
	}
	if err := out.Write(); err != nil {
		return err
	}
	w := a.summary(false)
	if sites {
		fmt.Fprintf(w, "%s on %s\n", console.Plural(len(placed), "site", "sites"), head.describe())
	}
	fmt.Fprintf(w, "wrote %s\n", strings.Join(paths, ", "))
	fmt.Fprintf(w, "next: calotte map A_average.tsv --head %s --at 170ms -o map.pdf\n", filepath.Join(folder, name+headEnding))
	return nil
}

func printPlacements(w io.Writer, f format, placed []layout.Placement) error {
	if f.json {
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
			rows[i] = row{p.Name, p.Position.X, p.Position.Y, p.Position.Z, p.Arc, string(p.From), p.Distance}
		}
		return json.NewEncoder(w).Encode(rows)
	}
	rows := make([][]string, len(placed))
	for i, p := range placed {
		rows[i] = []string{p.Name, decimals(p.Position.X, 4), decimals(p.Position.Y, 4), decimals(p.Position.Z, 4),
			p.Arc, string(p.From), decimals(p.Distance, 4)}
	}
	return console.Table(w, []string{"name", "x", "y", "z", "arc", "from", "distance"}, rows)
}

// decimals writes v with the given number of decimals, and no minus before zero.
func decimals(v float64, n int) string {
	text := strconv.FormatFloat(v, 'f', n, 64)
	if strings.Trim(text, "-0.") == "" {
		return strings.TrimPrefix(text, "-")
	}
	return text
}

// format is a flag that says how a table is printed.
type format struct{ json bool }

func (f *format) Set(text string) error {
	switch text {
	case "tsv", "json":
		f.json = text == "json"
		return nil
	}
	return fmt.Errorf("%q: expected tsv or json", text)
}

func (f format) String() string {
	if f.json {
		return "json"
	}
	return "tsv"
}

func (f format) Type() string { return "format" }
