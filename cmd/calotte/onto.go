package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/console"
	"calotte/topo"
	"calotte/topo/erp/average"
)

// ontoFlags bring averages of different caps onto common sites.
type ontoFlags struct {
	sites     siteSet
	positions []string
	how       electrodesFlags
	head      headFlags
	order     int
}

func (f *ontoFlags) register(c *cobra.Command) {
	flags := c.Flags()
	flags.Var(&f.sites, "onto", "10-20, 10-10, 10-5 or SITE[,SITE]: bring each average onto these sites first, by the spline")
	flags.StringArrayVar(&f.positions, "electrodes", nil, "`[NAME=]FILE` of measured positions, of the participant NAME or of all; repeat for more")
	flags.IntVar(&f.order, "spline-order", 4, "`ORDER` of the spherical spline of --onto, 3 to 6")
	f.how.register(c, false)
	f.head.register(c)
}

// apply brings averages onto the sites.
func (f *ontoFlags) apply(a *app, c *cobra.Command, t *tables) (*headModel, error) {
	if f.sites.text == "" {
		if set := given(c.Flags(), "electrodes", "axes", "unit", "tip-offset", "spline-order"); set != nil {
			return nil, console.Usagef("--%s is for --onto: add that, such as --onto 10-10", set[0])
		}
		if head := headGiven(c); head != "" {
			return nil, console.Usagef("--%s is for --onto: add that, such as --onto 10-10", head)
		}
		return &headModel{}, nil
	}
	if f.order < 3 || f.order > 6 {
		return nil, console.Usagef("--spline-order %d: expected 3 to 6", f.order)
	}
	head, err := f.head.read(a, c)
	if err != nil {
		return nil, err
	}
	targets, err := head.sites(f.sites.columns())
	if err != nil {
		return nil, err
	}
	used := map[string]bool{}
	for i, avg := range t.averages {
		worn, err := f.worn(a, head, avg.Info.Name, used)
		if err != nil {
			return nil, err
		}
		own, err := worn.sites(avg.Sites)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", t.paths[i], err)
		}
		step, err := average.Onto(own, targets, topo.Options{Order: f.order, Radius: worn.radius})
		if err == nil {
			err = t.through(i, step)
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", t.paths[i], err)
		}
	}
	for _, p := range f.positions {
		if name, _, named := strings.Cut(p, "="); named && !used[name] {
			return nil, console.Usagef("--electrodes %s: no average is of %q", p, name)
		}
	}
	return head, nil
}

// worn is the head with the electrodes of a participant where they were measured.
func (f *ontoFlags) worn(a *app, head *headModel, name string, used map[string]bool) (*headModel, error) {
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
	how.file = file
	if err := own.measure(a, &how); err != nil {
		return nil, err
	}
	for i, p := range own.paths {
		if !slices.Contains(head.paths, p) {
			head.paths, head.sources = append(head.paths, p), append(head.sources, own.sources[i])
		}
	}
	return &own, nil
}
