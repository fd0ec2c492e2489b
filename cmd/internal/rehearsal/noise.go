// Package rehearsal reads the noise on which studies are rehearsed out of
// people's saved epochs.
package rehearsal

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/averages"
	"calotte/cmd/internal/session"
	"calotte/layout"
	"calotte/layout/head"
	"calotte/topo/erp/average"
	"calotte/topo/erp/store"
	"calotte/topo/provenance"
	"calotte/topo/rehearse"
	"calotte/topo/unit"
)

// A Noise is what is looked at in epochs, and what people's epochs show there.
type Noise struct {
	At   unit.Latency
	Of   layout.Name // the site that is tested
	Like string      // an average whose map the effect has; empty: that of a source beneath the site

	Study     rehearse.Study  // the people, and the effect in each reading
	Whole     *rehearse.Whole // the same of all sites and samples in During; nil: it is not asked for
	During    *unit.Span      // nil: all after the event
	Place     string          // the site, as written
	Pair      string          // it and its mirror image; empty: there is none, nor a second reading
	Files     []string        // that were read
	Sources   []provenance.Source
	Synthetic bool
}

// Add takes the epochs of a person, out of the averages of two conditions.
func (n *Noise) Add(a *session.Session, c *cobra.Command, name string, paths []string) error {
	tables, err := new(averages.Clock).Load(a, c, paths, store.Means)
	if err != nil {
		return err
	}
	p := rehearse.Person{Name: name}
	var epochs []*average.Average
	for i, path := range paths {
		sample, _, err := tables.Trials(i)
		if err != nil {
			return err
		}
		if len(sample.Units) < 2 {
			return fmt.Errorf("%s: fewer than two epochs, expected many", filepath.Base(path))
		}
		if n.Study.Effect == nil {
			if err := n.plant(sample.Average); err != nil {
				return err
			}
		}
		epochs = append(epochs, sample.Units...)
		for _, u := range sample.Units {
			reading, err := n.reading(u)
			if err != nil {
				return err
			}
			p.Epochs = append(p.Epochs, reading)
		}
		n.Synthetic = n.Synthetic || sample.Average.Info.Synthetic
		for _, s := range sample.Average.Info.Provenance.Inputs {
			if !slices.Contains(n.Sources, s) {
				n.Sources = append(n.Sources, s)
			}
		}
	}
	if n.Whole != nil {
		if err := n.Whole.Take(epochs); err != nil {
			return err
		}
	}
	n.Study.People = append(n.Study.People, p)
	n.Files = append(n.Files, tables.Files...)
	return nil
}

// reading is what is looked at in an average or epoch.
func (n *Noise) reading(avg *average.Average) ([]float64, error) {
	values, err := avg.At(n.At)
	if err != nil {
		return nil, err
	}
	return n.pick(avg.Sites, values)
}

// pick is the value at the site, and right minus left where it has a mirror
// image.
func (n *Noise) pick(sites []string, values []float64) ([]float64, error) {
	site, err := layout.Row(sites, n.Of)
	if err != nil {
		return nil, err
	}
	n.Place = sites[site]
	for _, pair := range layout.Pairs(sites) {
		if pair.Left == site || pair.Right == site {
			n.Pair = sites[pair.Left] + "–" + sites[pair.Right]
			return []float64{values[site], values[pair.Right] - values[pair.Left]}, nil
		}
	}
	return []float64{values[site]}, nil
}

// plant finds what an effect of 1 µV is in each reading, and at all sites and
// samples where that is asked for.
func (n *Noise) plant(avg *average.Average) error {
	values, err := n.mapOf(avg)
	if err != nil {
		return err
	}
	if n.Study.Effect, err = n.pick(avg.Sites, values); err != nil || n.Whole == nil {
		return err
	}
	n.Whole.Sites, n.Whole.Map = avg.Sites, values
	for _, t := range avg.Times {
		if n.During == nil && t >= 0 || n.During != nil && t >= float64(n.During.From)-1e-9 &&
			t <= float64(n.During.To)+1e-9 {
			n.Whole.Times = append(n.Whole.Times, t)
		}
	}
	if len(n.Whole.Times) == 0 {
		return fmt.Errorf("%v holds no sample of the averages", *n.During)
	}
	n.Whole.Course = rehearse.Bump(n.Whole.Times, float64(n.At.From), float64(n.At.To))
	return nil
}

// mapOf is what an effect of 1 µV is at each site of an average.
func (n *Noise) mapOf(avg *average.Average) ([]float64, error) {
	if n.Like != "" {
		return n.measured(avg.Sites)
	}
	surface, err := head.Default().Surface()
	if err != nil {
		return nil, err
	}
	sites, err := layout.SitesOn(surface, avg.Sites)
	if err != nil {
		return nil, err
	}
	at, err := layout.Row(avg.Sites, n.Of)
	if err != nil {
		return nil, err
	}
	return rehearse.Beneath(sites, at, strings.HasPrefix(avg.Info.Reference, "average"))
}

// measured is the map of a measured difference at sites, 1 µV at that which is
// tested. Other sites than the tested one and its mirror image may lack, and are
// nothing, unless all are asked for.
func (n *Noise) measured(sites []string) ([]float64, error) {
	avg, read, err := archive.Load(n.Like, average.Clock{})
	if err != nil {
		return nil, err
	}
	values, err := avg.At(n.At)
	if err != nil {
		return nil, fmt.Errorf("--like %s: %w", n.Like, err)
	}
	at, err := layout.Row(avg.Sites, n.Of)
	switch {
	case err != nil:
		return nil, fmt.Errorf("--like %s: %w", n.Like, err)
	case values[at] == 0:
		return nil, fmt.Errorf("--like %s is 0 at %s: choose a site where it is not", n.Like, avg.Sites[at])
	}
	out, mirrored := make([]float64, len(sites)), n.Of.Mirror()
	for i, site := range sites {
		name, err := layout.Parse(site)
		if err != nil {
			return nil, err
		}
		row, err := layout.Row(avg.Sites, name)
		if err != nil && (n.Whole != nil || name == mirrored) {
			return nil, fmt.Errorf("--like %s: %w", n.Like, err)
		}
		if err == nil {
			out[i] = values[row] / values[at]
		}
	}
	n.Files, n.Sources = append(n.Files, read...), append(n.Sources, avg.Info.Files[0])
	return out, nil
}
