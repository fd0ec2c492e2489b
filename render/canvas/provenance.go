package canvas

import (
	"bytes"
	"errors"
	"fmt"
	"io"

	"calotte/topo/provenance"
)

const (
	provenanceID      = "provenance" // the SVG's metadata element, the PDF's property
	provenanceKeyword = "Provenance" // the PNG's text
	mostProvenance    = 1 << 20      // bytes of a record written and read
	mostBefore        = 1000         // parts of a PNG or GIF in which the record is looked for
)

// ErrNoProvenance is wrapped by the errors for a whole PNG, SVG, PDF or TIFF
// file that does not say where it comes from.
var ErrNoProvenance = errors.New("no provenance: it was not made by this program, or another one removed it")

// ReadProvenance finds what made a figure in the file that Write wrote.
func ReadProvenance(r io.ReaderAt, size int64) (provenance.Record, error) {
	head := make([]byte, min(512, max(0, size)))
	if n, err := r.ReadAt(head, 0); n < len(head) {
		return provenance.Record{}, fmt.Errorf("read the figure: %w", err)
	}
	start := bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\ufeff")), " \t\r\n")
	switch {
	case bytes.HasPrefix(head, []byte(pngSignature)):
		return provenanceFrom(pngRecord(r, size))
	case bytes.HasPrefix(head, []byte("GIF89a")):
		return provenanceFrom(gifRecord(r))
	case bytes.HasPrefix(head, []byte(tiffSignature)):
		return provenanceFrom(tiffRecord(r, size))
	case bytes.HasPrefix(head, []byte("%PDF-")):
		return provenanceFrom(pdfRecord(r, size))
	case bytes.HasPrefix(start, []byte("<")):
		return provenanceFrom(svgRecord(r, size))
	}
	return provenance.Record{}, errors.New("not a figure: a PNG, SVG, PDF or TIFF file was expected")
}

func provenanceFrom(record []byte, err error) (provenance.Record, error) {
	if err != nil {
		return provenance.Record{}, err
	}
	return provenance.Read(record)
}
