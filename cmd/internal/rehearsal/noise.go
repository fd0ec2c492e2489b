// Package rehearsal reads the noise on which studies are rehearsed out of
// people's saved epochs.
package rehearsal

import (
	"fmt"
	"path/filepath"
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

	Study     rehearse.Study // the people, and the effect in each reading
	Place     string         // the site, as written
	Pair      string         // it and its mirror image; empty: there is none, nor a second reading
	Files     []string       // that were read
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
		for _, u := range sample.Units {
			reading, err := n.reading(u)
			if err != nil {
				return err
			}
			p.Epochs = append(p.Epochs, reading)
		}
		n.Synthetic = n.Synthetic || sample.Average.Info.Synthetic
	}
	n.Study.People = append(n.Study.People, p)
	n.Files, n.Sources = append(n.Files, tables.Files...), append(n.Sources, averages.Sources(tables.Averages)...)
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

// plant finds what an effect of 1 µV is in each reading.
func (n *Noise) plant(avg *average.Average) error {
	if n.Like != "" {
		return n.plantLike()
	}
	surface, err := head.Default().Surface()
	if err != nil {
		return err
	}
	sites, err := layout.SitesOn(surface, avg.Sites)
	if err != nil {
		return err
	}
	at, err := layout.Row(avg.Sites, n.Of)
	if err != nil {
		return err
	}
	values, err := rehearse.Beneath(sites, at, strings.HasPrefix(avg.Info.Reference, "average"))
	if err != nil {
		return err
	}
	n.Study.Effect, err = n.pick(avg.Sites, values)
	return err
}

// plantLike takes the map of a measured difference.
func (n *Noise) plantLike() error {
	avg, read, err := archive.Load(n.Like, average.Clock{})
	if err != nil {
		return err
	}
	reading, err := n.reading(avg)
	if err != nil {
		return fmt.Errorf("--like %s: %w", n.Like, err)
	}
	if reading[0] == 0 {
		return fmt.Errorf("--like %s is 0 at %s: choose a site where it is not", n.Like, n.Place)
	}
	for _, v := range reading {
		n.Study.Effect = append(n.Study.Effect, v/reading[0])
	}
	n.Files, n.Sources = append(n.Files, read...), append(n.Sources, avg.Info.Files[0])
	return nil
}
