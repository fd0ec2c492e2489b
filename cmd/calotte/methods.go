package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/methods"
	"calotte/cmd/internal/session"
	"calotte/topo/erp/average"
)

type methodsFlags struct{ folders []string }

func (a *app) methods() *cobra.Command {
	var f methodsFlags
	c := &cobra.Command{
		Use:   "methods FILE…",
		Short: "Print the paragraphs for the methods of a paper",
		Long: `Methods follows figures, tables and averages back to what they were made from, as origin
does, and tells in words how: recording, filters, epochs, baseline, reference, rejection,
repair, averages, maps. What only the author knows is a blank in square brackets. Behind
the paragraphs stands which items of the published guidelines they cover (Picton et al.
2000; Keil et al. 2014). Read it as an author before it goes into a paper.`,
		Example: `  calotte methods calotte-demo/results/figures/maps.png
  calotte methods calotte-demo/results/group/pilots_known_average.tsv`,
		Args: session.AtLeast(1, "figures, tables or averages"),
		RunE: func(c *cobra.Command, args []string) error { return a.runMethods(c.Context(), f, args) },
	}
	c.Flags().StringArrayVar(&f.folders, "in", nil, "`FOLDER` to look for inputs in; repeat for more")
	return c
}

func (a *app) runMethods(ctx context.Context, f methodsFlags, paths []string) error {
	if err := archive.CheckFolders(f.folders); err != nil {
		return err
	}
	g, err := a.gather(ctx, paths, f.folders)
	if err != nil {
		return err
	}
	var text strings.Builder
	for _, p := range g.account.Paragraphs() {
		console.Say(&text, "%s\n\n", p)
	}
	fmt.Fprintln(&text, "Covered above (x), or to be filled in by the author ( ):")
	for _, item := range g.account.Checklist() {
		mark := " "
		if item.Covered {
			mark = "x"
		}
		console.Say(&text, "  (%s) %s\n", mark, item.Topic)
	}
	if _, err := io.WriteString(a.Stdout, text.String()); err != nil {
		return err
	}
	if len(g.missing) > 0 {
		fmt.Fprintf(a.Notes(), "note: not here, so nothing is known of them: %s (--in FOLDER)\n",
			someOf(g.missing))
	}
	return nil
}

// someOf lists names that may come out of files; a long list is cut.
func someOf(all []string) string {
	const most = 20
	var names []string
	for _, name := range all[:min(len(all), most)] {
		names = append(names, console.Echo(name))
	}
	if more := len(all) - most; more > 0 {
		names = append(names, fmt.Sprintf("and %d more", more))
	}
	return strings.Join(names, ", ")
}

// A gathering collects what lies behind files.
type gathering struct {
	account methods.Account
	seen    map[string]bool
	missing []string
}

// gather follows files back to what they were made from.
func (a *app) gather(ctx context.Context, paths, folders []string) (*gathering, error) {
	g := &gathering{seen: map[string]bool{}}
	for _, path := range paths {
		o, err := a.Shelf.TraceOrigin(ctx, path, folders)
		if err != nil {
			return nil, err
		}
		if err := g.add(path, o); err != nil {
			return nil, err
		}
	}
	return g, nil
}

// add takes a file and what it was made from.
func (g *gathering) add(path string, o archive.Origin) error {
	if g.seen[path] || o.Made == nil {
		return nil
	}
	g.seen[path] = true
	switch o.Made.Work {
	case "average", "combine":
		if err := g.average(path); err != nil {
			return err
		}
	default:
		g.account.Figures = append(g.account.Figures, *o.Made)
	}
	for _, in := range o.Inputs {
		if in.State == archive.NotHere {
			if in.Made == nil && o.Made.Work != "average" && !slices.Contains(g.missing, in.Name) {
				g.missing = append(g.missing, in.Name)
			}
			continue
		}
		if err := g.add(in.Path, in); err != nil {
			return err
		}
	}
	return nil
}

// average takes an average with what is known of it.
func (g *gathering) average(path string) error {
	table := path
	if stem, ok := strings.CutSuffix(path, "_average.json"); ok {
		table = stem + "_average.tsv"
	}
	if !strings.HasSuffix(table, "_average.tsv") {
		return nil // its errors or pairs; the average itself is among the inputs, or was given
	}
	info, err := archive.ReadInfo(table)
	if err != nil {
		return err
	}
	if len(g.account.Sites) == 0 {
		avg, _, err := archive.Load(table, average.Clock{})
		if err != nil {
			return err
		}
		g.account.Sites = avg.Sites
	}
	if info.Kind == average.GrandAverage || info.Minus != "" {
		g.account.Groups = append(g.account.Groups, info)
	} else {
		g.account.People = append(g.account.People, info)
	}
	return nil
}
