package canvas

import (
	"encoding/json"
	"fmt"
	"image"
	"io"
	"math"
	"strings"

	"calotte/topo/erp"
)

// A Format is a kind of file.
type Format int

const (
	PNG Format = iota // 300 dots per inch, on white
	SVG
	PDF
)

var formatNames = [...]string{PNG: "png", SVG: "svg", PDF: "pdf"}

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
	for f, known := range formatNames {
		if name == known {
			return Format(f), nil
		}
	}
	return 0, fmt.Errorf("unknown figure format %q: end the name in .%s", extension, strings.Join(formatNames[:], ", ."))
}

// Write draws a figure in a format, with its title, description and
// provenance. The same figure gives the same bytes.
func Write(w io.Writer, f Figure, format Format, p erp.Provenance) error {
	width, height := f.Size()
	if _, err := pixelSize(float64(width), float64(height), dpi); err != nil {
		return err
	}
	record, err := json.Marshal(p)
	if err != nil {
		return err
	}
	if len(record) > mostProvenance {
		return fmt.Errorf("the provenance takes %d bytes, at most %d are kept in a figure", len(record), mostProvenance)
	}
	o := origin{software: strings.TrimSpace(p.Program + " " + p.Version), record: record}
	switch format {
	case PNG:
		return writePNG(w, f, o)
	case SVG:
		return writeSVG(w, f, o)
	case PDF:
		return writePDF(w, f, o)
	}
	return fmt.Errorf("unknown figure format %v: use png, svg or pdf", format)
}

// An origin is what a file says of its making: the program, and the
// provenance as JSON.
type origin struct {
	software string
	record   []byte
}

func writePNG(w io.Writer, f Figure, o origin) error {
	img, err := Raster(f, dpi)
	if err != nil {
		return err
	}
	return encodePNG(w, img, dpi, []note{
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
		return image.Point{}, fmt.Errorf("a figure of %.4g × %.4g pt at %.4g dpi cannot be drawn: it needs at least one pixel a side and at most %d in all", width, height, resolution, most)
	}
	return image.Pt(int(x), int(y)), nil
}
