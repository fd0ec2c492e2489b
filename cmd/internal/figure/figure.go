package figure

import (
	"bytes"
	"context"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"gonum.org/v1/plot/vg"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/cmd/internal/session"
	"calotte/render/canvas"
	"calotte/topo/provenance"
	"calotte/topo/unit"
)

// A figure narrower than this has no room for its text, and no page is wider.
const (
	Narrowest = unit.Length(40)  // mm
	Widest    = unit.Length(400) // mm
)

// Flags are what every drawn figure has in common: how wide, how fine, where
// to, and whether its numbers are written beside it.
type Flags struct {
	width   unit.Length
	dpi     int
	numbers string
	Output  string

	format canvas.Format
}

// NewFlags are flags with what holds where they are not given.
func NewFlags() Flags { return Flags{width: 180, dpi: 300} }

// Register adds the flags.
func (f *Flags) Register(c *cobra.Command) {
	flags := c.Flags()
	flags.Var(&f.width, "width", "of the figure; journals print 85mm, 114mm or 180mm")
	flags.IntVar(&f.dpi, "dpi", f.dpi, "`DOTS` per inch of .png and .tiff: 300, 600 or 1200")
	flags.StringVar(&f.numbers, "source-data", "", "`FOLDER` for tables of the numbers behind every panel")
	flags.StringVarP(&f.Output, "output", "o", "", "`FILE`.png, .svg, .pdf or .tiff")
}

// Check finds what is wrong with the flags before any file is read.
func (f *Flags) Check(c *cobra.Command, example string, least unit.Length) error {
	if err := session.Required(c, "output", "-o "+example); err != nil {
		return err
	}
	var err error
	if f.format, err = canvas.ParseFormat(filepath.Ext(f.Output)); err != nil {
		return console.Usagef("-o %s: %w", f.Output, err)
	}
	if f.width < least || f.width > Widest {
		return console.Usagef("--width %v: expected %v to %v, such as 180mm", f.width, least, Widest)
	}
	if f.dpi != 300 && f.dpi != 600 && f.dpi != 1200 {
		return console.Usagef("--dpi %d: expected 300, 600 or 1200", f.dpi)
	}
	if c.Flags().Changed("dpi") && f.format != canvas.PNG && f.format != canvas.TIFF {
		return console.Usagef("--dpi is for .png and .tiff, and %s is drawn without dots: leave it out",
			f.Output)
	}
	return nil
}

// Drawn reports whether the output is a figure, where it may be a table or
// nothing.
func (f *Flags) Drawn() bool {
	return f.Output != "" && strings.ToLower(filepath.Ext(f.Output)) != ".tsv"
}

// TablePath is the output where it is a table, empty where it is a figure or
// nothing.
func (f *Flags) TablePath() string {
	if f.Drawn() {
		return ""
	}
	return f.Output
}

// CheckDrawn is [Flags.Check] where the output may be a table or nothing: then
// flags of figures are mistakes.
func (f *Flags) CheckDrawn(c *cobra.Command, example string, least unit.Length) error {
	if f.Drawn() {
		return f.Check(c, example, least)
	}
	for _, flag := range []string{"width", "dpi", "source-data"} {
		if c.Flags().Changed(flag) {
			return console.Usagef("--%s is for a figure: leave it out, or write one (-o %s)", flag, example)
		}
	}
	return nil
}

// Points is the width of the figure.
func (f *Flags) Points() vg.Length { return vg.Length(f.width) * vg.Millimeter }

// Plan says which files will be written.
func (f *Flags) Plan(out *disk.Files, tables ...Numbers) error {
	paths := []string{f.Output}
	if f.numbers != "" {
		for _, t := range tables {
			paths = append(paths, f.numbersPath(t))
		}
	}
	return out.Plan(paths...)
}

// Numbers is a table of the numbers behind a figure: its header and its lines.
type Numbers struct {
	Name string
	Text func() []byte
}

func (f *Flags) numbersPath(t Numbers) string {
	stem := strings.TrimSuffix(filepath.Base(f.Output), filepath.Ext(f.Output))
	return filepath.Join(f.numbers, stem+"_"+t.Name+".tsv")
}

// Put draws the figure and its numbers into the files to be written.
func (f *Flags) Put(out *disk.Files, figure canvas.Figure, made provenance.Record, tables ...Numbers) error {
	var b bytes.Buffer
	var err error
	if f.format == canvas.PNG || f.format == canvas.TIFF {
		err = canvas.WriteResolved(&b, figure, f.format, f.dpi, made)
	} else {
		err = canvas.Write(&b, figure, f.format, made)
	}
	if err != nil {
		return err
	}
	if f.numbers != "" {
		for _, t := range tables {
			out.Put(f.numbersPath(t), t.Text())
		}
	}
	out.Put(f.Output, b.Bytes())
	return nil
}

// Deliver draws the figure and writes it with its numbers.
func (f *Flags) Deliver(ctx context.Context, out *disk.Files, figure canvas.Figure, made provenance.Record,
	tables ...Numbers) error {
	if err := f.Plan(out, tables...); err != nil {
		return err
	}
	if err := f.Put(out, figure, made, tables...); err != nil {
		return err
	}
	return out.Write(ctx)
}

// TableOf is a table as numbers behind a figure.
func TableOf(name string, columns []string, rows [][]string) Numbers {
	return Numbers{Name: name, Text: func() []byte {
		var b bytes.Buffer
		if err := console.Table(&b, columns, rows); err != nil {
			return nil // a buffer takes everything
		}
		return b.Bytes()
	}}
}

// Cells writes a line of a table.
func Cells(b *bytes.Buffer, values ...any) {
	for i, v := range values {
		if i > 0 {
			b.WriteByte('\t')
		}
		fmt.Fprint(b, v)
	}
	b.WriteByte('\n')
}
