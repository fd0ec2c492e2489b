package canvas

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
)

// pngLead begins the iTXt chunk that holds the provenance.
const pngLead = provenanceKeyword + "\x00\x00\x00\x00\x00"

// pngRecord walks over the chunks without reading the image.
func pngRecord(r io.ReaderAt, size int64) ([]byte, error) {
	var head [8]byte
	at := int64(len(pngSignature))
	for n := 0; at+12 <= size; n++ {
		if n == mostBefore {
			return nil, fmt.Errorf("PNG: none of %d chunks is the image or says where it comes from: %w", n,
				ErrNoProvenance)
		}
		if _, err := r.ReadAt(head[:], at); err != nil {
			return nil, fmt.Errorf("PNG chunk at byte %d: %w", at, err)
		}
		length := int64(binary.BigEndian.Uint32(head[:]))
		if at+12+length > size {
			return nil, fmt.Errorf("PNG chunk at byte %d has %d bytes, the file only %d more: it is cut off",
				at,
				length, size-at-12)
		}
		switch string(head[4:]) {
		case "iTXt":
			record, err := pngNote(r, at, length)
			if record != nil || err != nil {
				return record, err
			}
		case "IDAT", "IEND":
			return nil, fmt.Errorf("PNG: %w", ErrNoProvenance)
		}
		at += 12 + length
	}
	return nil, errors.New("PNG ends before its image: it is cut off")
}

// pngNote returns the text of an iTXt chunk that holds the provenance, else
// nil.
func pngNote(r io.ReaderAt, at, length int64) ([]byte, error) {
	lead := []byte(pngLead)
	if length < int64(len(lead)) {
		return nil, nil
	}
	start := make([]byte, len(lead))
	if _, err := r.ReadAt(start, at+8); err != nil {
		return nil, err
	}
	if !bytes.Equal(start, lead) {
		return nil, nil
	}
	if length > int64(len(lead))+mostProvenance {
		return nil, fmt.Errorf("PNG provenance has %d bytes, at most %d are read", length-int64(len(lead)),
			mostProvenance)
	}
	chunk := make([]byte, 4+length+4)
	if _, err := r.ReadAt(chunk, at+4); err != nil {
		return nil, err
	}
	body, sum := chunk[:4+length], chunk[4+length:]
	if crc32.ChecksumIEEE(body) != binary.BigEndian.Uint32(sum) {
		return nil, errors.New("PNG provenance is damaged: its checksum differs")
	}
	return body[4+len(lead):], nil
}
