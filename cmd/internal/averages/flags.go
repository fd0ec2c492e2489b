package averages

import (
	"github.com/spf13/cobra"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/session"
	"calotte/topo/erp/store"
)

// Flags say which averages are meant: tables, against which reference, and
// where the people behind grand averages are.
type Flags struct {
	Clock       Clock
	Rereference Rereference
	Folders     []string
}

// Register adds the flags that all verbs of averages have.
func (f *Flags) Register(c *cobra.Command) {
	f.Rereference.Register(c)
	f.Clock.Register(c)
}

// RegisterFolders adds the flag of the folders; whom says who is looked for in
// them.
func (f *Flags) RegisterFolders(c *cobra.Command, whom string) {
	c.Flags().StringArrayVar(&f.Folders, "in", nil, "`FOLDER` to look for "+whom+"; repeat for more")
}

// Check finds what is wrong with the flags before any file is read.
func (f *Flags) Check() error { return archive.CheckFolders(f.Folders) }

// Read loads the averages at the given paths and re-references them.
func (f *Flags) Read(a *session.Session, c *cobra.Command, paths []string) (*Tables, error) {
	return f.read(a, c, paths, store.Everything)
}

// ReadMeans is Read for who needs no standard errors.
func (f *Flags) ReadMeans(a *session.Session, c *cobra.Command, paths []string) (*Tables, error) {
	return f.read(a, c, paths, f.Rereference.Needed(c, store.Means))
}

func (f *Flags) read(a *session.Session, c *cobra.Command, paths []string, need store.Need) (*Tables, error) {
	tables, err := f.Clock.Load(a, c, paths, need)
	if err != nil {
		return nil, err
	}
	tables.folders = f.Folders
	return tables, f.Rereference.Apply(a, c, tables)
}
