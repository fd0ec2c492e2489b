package figure

import (
	"encoding/json"
	"fmt"

	"github.com/spf13/cobra"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/disk"
	"calotte/layout/capcheck"
	"calotte/topo/provenance"
)

// Cap is what a cap check found.
type Cap struct {
	Path   string
	Turn   r3.Vec // radians
	source provenance.Source
}

// Register adds the flag.
func (k *Cap) Register(c *cobra.Command) {
	c.Flags().StringVar(&k.Path, "capcheck", "",
		"`FILE` with what calotte capcheck --format json printed: what would be read had the cap sat "+
			"in its place")
}

// Read loads the file, if one is given.
func (k *Cap) Read() error {
	if k.Path == "" {
		return nil
	}
	text, err := disk.ReadFile(k.Path)
	if err != nil {
		return err
	}
	var check struct{ Turn *capcheck.Turn }
	if err := json.Unmarshal(text, &check); err != nil || check.Turn == nil || *check.Turn == (capcheck.Turn{}) {
		return fmt.Errorf("%s: expected what calotte capcheck --format json prints, with the turn of the cap",
			k.Path)
	}
	k.Turn = check.Turn.Vector()
	k.source = archive.Source(k.Path, text)
	return nil
}

// Paths and Sources are the file, where there is one.
func (k *Cap) Paths() []string {
	if k.Path == "" {
		return nil
	}
	return []string{k.Path}
}

// Sources and Paths are the file, where there is one.
func (k *Cap) Sources() []provenance.Source {
	if k.Path == "" {
		return nil
	}
	return []provenance.Source{k.source}
}

// Turned is how the cap was found turned; nil: nobody looked.
func (k *Cap) Turned() *r3.Vec {
	if k.Path == "" {
		return nil
	}
	return &k.Turn
}
