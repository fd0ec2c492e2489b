package main

import (
	"bytes"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"gonum.org/v1/plot/vg"

	"calotte/cmd/internal/console"
	"calotte/cmd/internal/disk"
	"calotte/render/canvas"
	"calotte/topo/provenance"
	"calotte/topo/unit"
)

// A figure narrower than this has no room for its text, and no page is wider.
const (
	narrowest = unit.Length(40)  // mm
	widest    = unit.Length(400) // mm
)

// figureFlags are what every drawn figure has in common: how wide, how fine, where to,
// and whether its numbers are written beside it.
type figureFlags struct {
	width   unit.Length
	dpi     int
	numbers string
	output  string

	format canvas.Format
}

func newFigureFlags() figureFlags { return figureFlags{width: 180, dpi: 300} }

func (f *figureFlags) register(c *cobra.Command) {
	flags := c.Flags()
	flags.Var(&f.width, "width", "of the figure; journals print 85mm, 114mm or 180mm")
	flags.IntVar(&f.dpi, "dpi", f.dpi, "`DOTS` per inch of .png and .tiff: 300, 600 or 1200")
	flags.StringVar(&f.numbers, "source-data", "", "`FOLDER` for tables of the numbers behind every panel")
	flags.StringVarP(&f.output, "output", "o", "", "`FILE`.png, .svg, .pdf or .tiff")
}

// check finds what is wrong with the flags before any file is read.
func (f *figureFlags) check(c *cobra.Command, example string, least unit.Length) error {
	if err := required(c, "output", "-o "+example); err != nil {
		return err
	}
	var err error
	if f.format, err = canvas.ParseFormat(filepath.Ext(f.output)); err != nil {
		return console.Usagef("-o %s: %w", f.output, err)
	}
	if f.width < least || f.width > widest {
		return console.Usagef("--width %v: expected %v to %v, such as 180mm", f.width, least, widest)
	}
	if f.dpi != 300 && f.dpi != 600 && f.dpi != 1200 {
		return console.Usagef("--dpi %d: expected 300, 600 or 1200", f.dpi)
	}
	if c.Flags().Changed("dpi") && f.format != canvas.PNG && f.format != canvas.TIFF {
		return console.Usagef("--dpi is for .png and .tiff, and %s is drawn without dots: leave it out", f.output)
	}
	return nil
}

func (f *figureFlags) points() vg.Length { return vg.Length(f.width) * vg.Millimeter }

// plan says which files will be written.
func (f *figureFlags) plan(out *disk.Files, tables ...numbersOf) error {
	paths := []string{f.output}
	if f.numbers != "" {
		for _, t := range tables {
			paths = append(paths, f.numbersPath(t))
		}
	}
	return out.Plan(paths...)
}

// numbersOf is a table of the numbers behind a figure: its header and its lines.
type numbersOf struct {
	name string
	text func() []byte
}

func (f *figureFlags) numbersPath(t numbersOf) string {
	stem := strings.TrimSuffix(filepath.Base(f.output), filepath.Ext(f.output))
	return filepath.Join(f.numbers, stem+"_"+t.name+".tsv")
}

// put draws the figure and its numbers into the files to be written.
func (f *figureFlags) put(out *disk.Files, figure canvas.Figure, made provenance.Record, tables ...numbersOf) error {
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
			out.Put(f.numbersPath(t), t.text())
		}
	}
	out.Put(f.output, b.Bytes())
	return nil
}

// cells writes a line of a table.
func cells(b *bytes.Buffer, values ...any) {
	for i, v := range values {
		if i > 0 {
			b.WriteByte('\t')
		}
		fmt.Fprint(b, v)
	}
	b.WriteByte('\n')
}
