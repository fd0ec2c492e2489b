package intake

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"calotte/cmd/internal/archive"
	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/option"
	"calotte/topo/provenance"
	"calotte/topo/recording"
	"calotte/topo/recording/array"
	"calotte/topo/unit"
)

// ArrayFlagNames are those of ArrayFlags.
var ArrayFlagNames = []string{"rate", "unit", "sites", "order", "variable"}

// ArrayFlags say of an array what it does not say itself.
type ArrayFlags struct {
	Rate     unit.Frequency
	Sites    SiteList
	unit     string
	order    axes
	variable string
}

func (f *ArrayFlags) register(c *cobra.Command) {
	flags := c.Flags()
	flags.Var(&f.Rate, "rate", "the sampling rate of an array, such as 500Hz")
	flags.Var(option.OneOf(&f.unit, "unit", "V", "mV", "uV", "nV"), "unit",
		"the unit of an array; of epochs made elsewhere uV unless given")
	flags.Var(&f.Sites, "sites",
		"the sites of an array in its order: SITE[,SITE], or a file with a name a line (default: the "+
			"first line "+
			"of a table)")
	flags.Var(&f.order, "order",
		"the axes of an array, such as sites,samples or epochs,sites,samples (default: told by the "+
			"number of sites)")
	flags.StringVar(&f.variable, "variable", "", "the `NAME` of the array in a .mat file (default: the only one)")
	for _, name := range []string{"rate", "sites", "order"} {
		flags.Lookup(name).DefValue = ""
	}
}

// Given reports whether the flags say that a table is a recording: only of
// that, a unit has to be said.
func (f *ArrayFlags) Given() bool { return f.unit != "" }

// Described lists the flags that were given to describe arrays and their
// events, for a command line.
func (f *Flags) Described(flags *pflag.FlagSet) []string {
	var out []string
	if f.Array.Given() {
		for _, name := range Given(flags, append(ArrayFlagNames, "events", "event-label")...) {
			out = append(out, "--"+name, flags.Lookup(name).Value.String())
		}
	}
	return out
}

// Check refuses a rate that is none.
func (f *ArrayFlags) Check(flags *pflag.FlagSet) error {
	if flags.Changed("rate") && f.Rate <= 0 {
		return console.Usagef("--rate %v: expected more than 0, such as 500Hz", f.Rate)
	}
	return nil
}

// Axes is the number of axes of a NumPy or MATLAB file.
func (f *ArrayFlags) Axes(path string) (int, error) {
	file, info, err := disk.Open(path)
	if err != nil {
		return 0, err
	}
	defer file.Close()
	a, err := array.Open(file, info.Size(), f.variable)
	if err != nil {
		return 0, err
	}
	return len(a.Shape), nil
}

func (f *ArrayFlags) description() array.Description {
	return array.Description{Rate: float64(f.Rate), Unit: f.unit, Sites: f.Sites, Order: array.Order(f.order)}
}

// read makes a recording of an array.
func (f *ArrayFlags) read(path string, file io.ReaderAt, size int64) (*recording.Recording, error) {
	var a *array.Array
	var err error
	if Tabular(path) {
		if size > disk.LargestTable {
			return nil, fmt.Errorf("a table of %.1f GB: expected at most 1 GB; save it as .npy",
				float64(size)/1e9)
		}
		a, err = array.OpenText(io.NewSectionReader(file, 0, size))
	} else {
		a, err = array.Open(file, size, f.variable)
	}
	if err != nil {
		return nil, flagged(err)
	}
	if len(a.Shape) == 2 && (f.Rate <= 0 || f.unit == "" || f.Sites == nil && a.Names == nil) {
		return nil, console.Usagef("it holds %v numbers, and does not say what they are: give --rate, "+
			"--unit and "+
			"--sites", a)
	}
	r, err := a.Recording(f.description())
	return r, flagged(err)
}

// OpenCut opens an array of epochs. Its window is still to be set.
func (f *ArrayFlags) OpenCut(path string) (s archive.Saved, err error) {
	file, info, err := disk.Open(path)
	if err != nil {
		return s, err
	}
	defer func() {
		if err != nil {
			file.Close()
			err = fmt.Errorf("%s: %w", path, flagged(explain(err, path, file, info.Size())))
		}
	}()
	a, err := array.Open(file, info.Size(), f.variable)
	if err != nil {
		return s, err
	}
	d := f.description()
	if d.Unit == "" {
		d.Unit = "uV"
	}
	cut, err := a.Cut(d)
	if err != nil {
		return s, err
	}
	sum, err := sumOf(file, info)
	if err != nil {
		return s, err
	}
	source := provenance.Source{Name: filepath.Base(path), SHA256: sum}
	return archive.CutElsewhere(path, file, f.Sites, cut, source), nil
}

func sumOf(file io.ReaderAt, info os.FileInfo) (string, error) {
	h := sha256.New()
	_, err := io.CopyBuffer(h, io.NewSectionReader(file, 0, info.Size()), make([]byte, 256<<10))
	return hex.EncodeToString(h.Sum(nil)), err
}

// flagged names the flag by which the user says what an array does not.
func flagged(err error) error {
	for unsaid, flag := range map[error]string{array.ErrOrder: "order", array.ErrVariable: "variable",
		array.ErrSites: "sites"} {
		if errors.Is(err, unsaid) {
			return fmt.Errorf("%w (--%s)", err, flag)
		}
	}
	return err
}

// axes is a flag that takes the order of axes.
type axes array.Order

// Set implements pflag.Value.
func (a *axes) Set(text string) error {
	o, err := array.ParseOrder(text)
	*a = axes(o)
	return err
}

// String implements pflag.Value.
func (a *axes) String() string { return array.Order(*a).String() }

// Type implements pflag.Value.
func (a *axes) Type() string { return "axes" }

// isArray reports whether a file of which these are the first bytes is read as
// an array.
func (f *ArrayFlags) isArray(path string, start []byte) bool {
	return array.Recognize(start) || Tabular(path) && f.Given() && !strings.EqualFold(filepath.Ext(path), ".json")
}
