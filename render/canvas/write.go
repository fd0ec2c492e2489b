package canvas

import (
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"io"
	"math"
	"strings"

	"calotte/topo/provenance"
)

// A Format is a kind of file.
type Format int

const (
	PNG Format = iota // 300 dots per inch, on white
	SVG
	PDF
	TIFF // 300 dots per inch, on white, for journals that ask for it
)

var formatNames = [...]string{PNG: "png", SVG: "svg", PDF: "pdf", TIFF: "tiff"}

func (f Format) String() string {
	if f < 0 || int(f) >= len(formatNames) {
		return fmt.Sprintf("Format(%d)", int(f))
	}
	return formatNames[f]
}

// ParseFormat reads a file name's extension, with or without its dot, in
// either case.
func ParseFormat(extension string) (Format, error) {
	name := strings.ToLower(strings.TrimPrefix(extension, "."))
	if name == "tif" {
		name = "tiff"
	}
	for f, known := range formatNames {
		if name == known {
			return Format(f), nil
		}
	}
	return 0, fmt.Errorf("unknown figure format %q: end the name in .%s", extension,
		strings.Join(formatNames[:], ", ."))
}

// Write draws a figure in a format, with its title, description and
// provenance. The same figure gives the same bytes.
func Write(w io.Writer, f Figure, format Format, p provenance.Record) error {
	return WriteDocument(w, []Figure{f}, format, p)
}

// WriteResolved is Write for a PNG or TIFF of another resolution than 300 dots
// per inch. Maps are as sharp as it asks where it is a multiple of 300. SVG and
// PDF have none.
func WriteResolved(w io.Writer, f Figure, format Format, resolution int, p provenance.Record) error {
	if format != PNG && format != TIFF {
		return fmt.Errorf("%v has no resolution: leave it out, or write png or tiff", format)
	}
	o, err := newOrigin(p)
	if err != nil {
		return err
	}
	return writeRaster(w, f, format, float64(resolution), o)
}

// WriteDocument draws figures as the pages of one file, each in its own size.
// Only PDF holds more than one: give PNG and SVG the pages one at a time. The
// file's title and description are the first page's.
func WriteDocument(w io.Writer, pages []Figure, format Format, p provenance.Record) error {
	switch {
	case len(pages) == 0:
		return errors.New("a document without pages: give at least one figure")
	case len(pages) > 1 && (format == PNG || format == SVG || format == TIFF):
		return fmt.Errorf("%v holds one page: write the %d pages one at a time, or as %v", format, len(pages),
			PDF)
	}
	for _, f := range pages {
		width, height := f.Size()
		if _, err := pixelSize(float64(width), float64(height), dpi); err != nil {
			return err
		}
	}
	o, err := newOrigin(p)
	if err != nil {
		return err
	}
	switch format {
	case PNG, TIFF:
		return writeRaster(w, pages[0], format, dpi, o)
	case SVG:
		return writeSVG(w, pages[0], o)
	case PDF:
		return writePDF(w, pages, o)
	}
	return fmt.Errorf("unknown figure format %v: use png, svg, pdf or tiff", format)
}

// An origin is what a file says of its making: the program, and the
// provenance as JSON.
type origin struct {
	software string
	record   []byte
}

func newOrigin(p provenance.Record) (origin, error) {
	record, err := json.Marshal(p)
	if err != nil {
		return origin{}, err
	}
	if len(record) > mostProvenance {
		return origin{}, fmt.Errorf("the provenance takes %d bytes, at most %d are kept in a figure",
			len(record),
			mostProvenance)
	}
	return origin{software: strings.TrimSpace(p.Program + " " + p.Version), record: record}, nil
}

func writeRaster(w io.Writer, f Figure, format Format, resolution float64, o origin) error {
	img, err := Raster(f, resolution)
	if err != nil {
		return err
	}
	if format == TIFF {
		return encodeTIFF(w, img, resolution, f.Title(), f.Description(), o)
	}
	return encodePNG(w, img, resolution, []note{
		{"Title", f.Title()},
		{"Description", f.Description()},
		{"Software", o.software},
		{provenanceKeyword, string(o.record)},
	})
}

// pixelSize refuses what no sheet of paper needs and no memory holds.
func pixelSize(width, height, resolution float64) (image.Point, error) {
	const most = 1 << 27 // half a gigabyte of pixels
	scale := resolution / pointsPerInch
	x, y := math.Round(width*scale), math.Round(height*scale)
	if !(x >= 1 && y >= 1 && x*y <= most) {
		return image.Point{}, fmt.Errorf("a figure of %.4g × %.4g pt at %.4g dpi cannot be drawn: it "+
			"needs at least "+
			"one pixel a side and at most %d in all", width, height, resolution, most)
	}
	return image.Pt(int(x), int(y)), nil
}
