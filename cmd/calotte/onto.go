package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/intake"
	"calotte/cmd/internal/option"
	"calotte/cmd/internal/wearer"
	"calotte/topo"
	"calotte/topo/erp/average"
)

// ontoFlags bring averages of different caps onto common sites.
type ontoFlags struct {
	sites     option.Sites
	positions []string
	how       wearer.Electrodes
	head      wearer.Flags
	order     int
}

func (f *ontoFlags) register(c *cobra.Command) {
	flags := c.Flags()
	flags.Var(&f.sites, "onto",
		"10-20, 10-10, 10-5 or SITE[,SITE]: bring each average onto these sites first, by the spline")
	flags.StringArrayVar(&f.positions, "electrodes", nil,
		"`[NAME=]FILE` of measured positions, of the participant NAME or of all; repeat for more")
	flags.IntVar(&f.order, "spline-order", 4, "`ORDER` of the spherical spline of --onto, 3 to 6")
	f.how.Register(c, false)
	f.head.Register(c)
}

// apply brings averages onto the sites.
func (f *ontoFlags) apply(a *app, c *cobra.Command, t *averages.Tables) (*wearer.Head, error) {
	if f.sites.Text == "" {
		if set := intake.Given(c.Flags(), "electrodes", "axes", "unit", "tip-offset",
			"spline-order"); set != nil {
			return nil, console.Usagef("--%s is for --onto: add that, such as --onto 10-10", set[0])
		}
		if head := wearer.HeadGiven(c); head != "" {
			return nil, console.Usagef("--%s is for --onto: add that, such as --onto 10-10", head)
		}
		return &wearer.Head{}, nil
	}
	if f.order < 3 || f.order > 6 {
		return nil, console.Usagef("--spline-order %d: expected 3 to 6", f.order)
	}
	head, err := f.head.Read(a.Session, c)
	if err != nil {
		return nil, err
	}
	targets, err := head.Sites(f.sites.Columns())
	if err != nil {
		return nil, err
	}
	used := map[string]bool{}
	for i, avg := range t.Averages {
		worn, err := f.worn(a, head, avg.Info.Name, used)
		if err != nil {
			return nil, err
		}
		own, err := worn.Sites(avg.Sites)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", t.Paths[i], err)
		}
		step, err := average.Onto(own, targets, topo.Options{Order: f.order, Radius: worn.Radius})
		if err == nil {
			err = t.Through(i, step)
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", t.Paths[i], err)
		}
	}
	for _, p := range f.positions {
		if name, _, named := strings.Cut(p, "="); named && !used[name] {
			return nil, console.Usagef("--electrodes %s: no average is of %q", p, name)
		}
	}
	return head, nil
}

// worn is the head with the electrodes of a participant where they were
// measured.
func (f *ontoFlags) worn(a *app, head *wearer.Head, name string, used map[string]bool) (*wearer.Head, error) {
	file := ""
	for _, p := range f.positions {
		if of, path, named := strings.Cut(p, "="); !named && file == "" {
			file = p
		} else if named && of == name {
			file, used[of] = path, true
		}
	}
	own := *head
	how := f.how
	how.File = file
	if err := own.Measure(a.Session, &how); err != nil {
		return nil, err
	}
	for i, p := range own.Paths {
		if !slices.Contains(head.Paths, p) {
			head.Paths, head.Sources = append(head.Paths, p), append(head.Sources, own.Sources[i])
		}
	}
	return &own, nil
}
