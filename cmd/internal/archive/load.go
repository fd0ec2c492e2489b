package archive

import (
	"fmt"
	"runtime"
	"slices"

	"golang.org/x/sync/errgroup"

	"calotte/cmd/internal/disk"
	"calotte/topo/erp/average"
	"calotte/topo/erp/store"
)

// Load reads the average whose table is at path, as [store.OpenTable] does, and
// returns the paths of all that it read.
func Load(path string, clock average.Clock) (a *average.Average, read []string, err error) {
	return load(path, clock, store.Everything)
}

func load(path string, clock average.Clock, need store.Need) (a *average.Average, read []string, err error) {
	f, name := beside(path)
	if a, err = store.OpenTable(tables{f, name}, name, clock, need); err != nil {
		return nil, nil, f.located(err)
	}
	return a, f.read, nil
}

// tables is a folder in which a table is looked for, and figures may be.
type tables struct {
	*folder
	table string
}

// ReadFile refuses the table where it is a figure or an archive.
func (t tables) ReadFile(name string) ([]byte, error) {
	data, err := t.folder.ReadFile(name)
	if kind := disk.Describe(data); err == nil && name == t.table && kind != "" {
		return nil, fmt.Errorf("%s is %s, not an average: give its table, such as STEM_COND_average.tsv",
			t.dir+name,
			kind)
	}
	return data, err
}

// LoadAll loads several averages side by side, in their order. Of several
// errors it returns that of the first path.
func (s *Shelf) LoadAll(paths []string, clock average.Clock, need store.Need) (averages []*average.Average,
	read []string, err error) {
	averages = make([]*average.Average, len(paths))
	files, errs := make([][]string, len(paths)), make([]error, len(paths))
	var group errgroup.Group
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i, path := range paths {
		group.Go(func() error {
			averages[i], files[i], errs[i] = s.Load(path, clock, need)
			return nil
		})
	}
	group.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, nil, err
		}
	}
	return averages, slices.Concat(files...), nil
}

// ReadInfo reads what the JSON beside an average's table says of it, without
// the table.
func ReadInfo(path string) (average.Info, error) {
	f, name := beside(path)
	info, err := store.ReadInfo(f, name)
	return info, f.located(err)
}

// ParseInfo reads the text of such a JSON; its path is for errors.
func ParseInfo(path string, text []byte) (average.Info, error) { return store.ParseInfo(path, text) }
