package main

import (
	"encoding/json"
	"fmt"

	"github.com/spf13/cobra"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/cmd/internal/disk"
	"calotte/layout"
	"calotte/topo/provenance"
)

// capFlag is what a cap check found.
type capFlag struct {
	path   string
	turn   r3.Vec // radians
	source provenance.Source
}

func (k *capFlag) register(c *cobra.Command) {
	c.Flags().StringVar(&k.path, "capcheck", "", "`FILE` with what calotte capcheck --format json printed: what would be read had the cap sat in its place")
}

func (k *capFlag) read() error {
	if k.path == "" {
		return nil
	}
	text, err := disk.ReadFile(k.path)
	if err != nil {
		return err
	}
	var check struct{ Turn *layout.Turn }
	if err := json.Unmarshal(text, &check); err != nil || check.Turn == nil || *check.Turn == (layout.Turn{}) {
		return fmt.Errorf("%s: expected what calotte capcheck --format json prints, with the turn of the cap", k.path)
	}
	k.turn = check.Turn.Vector()
	k.source = source(k.path, text)
	return nil
}

func (k *capFlag) paths() []string {
	if k.path == "" {
		return nil
	}
	return []string{k.path}
}

func (k *capFlag) sources() []provenance.Source {
	if k.path == "" {
		return nil
	}
	return []provenance.Source{k.source}
}

// turned is how the cap was found turned; nil: nobody looked.
func (k *capFlag) turned() *r3.Vec {
	if k.path == "" {
		return nil
	}
	return &k.turn
}
