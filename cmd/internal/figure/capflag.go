package figure

import (
	"github.com/spf13/cobra"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/cmd/internal/wearer"
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
	pose, source, err := wearer.ReadCapCheck(k.Path)
	k.Turn, k.source = pose.Turn, source
	return err
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
