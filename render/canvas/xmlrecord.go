package canvas

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
)

// svgRecord reads the metadata element, which stands before all drawing.
func svgRecord(r io.ReaderAt, size int64) ([]byte, error) {
	record, err := elementText(r, 0, size, func(e xml.StartElement) bool {
		return e.Name.Local == "metadata" && attribute(e, "id") == provenanceID
	})
	switch {
	case errors.Is(err, io.EOF):
		return nil, fmt.Errorf("SVG: %w", ErrNoProvenance)
	case err != nil:
		return nil, fmt.Errorf("SVG is damaged: %.120v", err) // it may repeat a name of any length
	}
	return record, nil
}

func attribute(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// pdfRecord looks for metadata packets, which a PDF holds as plain text. A
// file that other programs have worked on may hold a few.
func pdfRecord(r io.ReaderAt, size int64) ([]byte, error) {
	const window, mostPackets = 1 << 16, 16
	buffer := make([]byte, window+len(xmpBegin)-1)
	packets := 0
	for at := int64(0); at < size; at += window {
		n := int(min(int64(len(buffer)), size-at))
		if got, err := r.ReadAt(buffer[:n], at); got < n {
			return nil, fmt.Errorf("read the PDF: %w", err)
		}
		for part := 0; packets < mostPackets; packets++ {
			i := bytes.Index(buffer[part:n], []byte(xmpBegin))
			if i < 0 {
				break
			}
			part += i + len(xmpBegin)
			record, err := elementText(r, at+int64(part-len(xmpBegin)), size,
				func(e xml.StartElement) bool {
					return e.Name == xml.Name{Space: xmpSpace, Local: provenanceID}
				})
			if err == nil {
				return record, nil
			}
		}
	}
	return nil, fmt.Errorf("PDF: %w", ErrNoProvenance)
}

// elementText returns the text of the first element wanted in the XML that
// starts at a byte. It reads at most two megabytes; past them or the end the
// error is io.EOF.
func elementText(r io.ReaderAt, start, size int64, wanted func(xml.StartElement) bool) ([]byte, error) {
	d := xml.NewDecoder(io.NewSectionReader(r, start, min(size-start, 2*mostProvenance)))
	for {
		token, err := d.Token()
		if err != nil {
			return nil, past(err)
		}
		e, ok := token.(xml.StartElement)
		if !ok || !wanted(e) {
			continue
		}
		var text struct {
			Data []byte `xml:",chardata"`
		}
		if err := d.DecodeElement(&text, &e); err != nil {
			return nil, past(err)
		}
		return text.Data, nil
	}
}

// past turns the decoder's word for an early end into io.EOF.
func past(err error) error {
	var syntax *xml.SyntaxError
	if errors.As(err, &syntax) && syntax.Msg == "unexpected EOF" {
		return io.EOF
	}
	return err
}
