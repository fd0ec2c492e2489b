package array

import (
	"bufio"
	"compress/zlib"
	"errors"
	"fmt"
	"io"
)

const (
	// mostFold bounds what unpacking may make of a variable: numbers that
	// were measured pack to a tenth at best.
	mostFold = 50

	// leastUnpacked is a size in bytes that any variable may unpack to.
	leastUnpacked = 1 << 20
)

// An inflater unpacks one element after the other with one set of tables.
type inflater struct {
	buffer *bufio.Reader
	zip    io.ReadCloser
}

func (z *inflater) open(r io.Reader) (io.Reader, error) {
	if z.zip != nil {
		z.buffer.Reset(r)
		err := z.zip.(zlib.Resetter).Reset(z.buffer, nil)
		return z.zip, damaged(err)
	}
	z.buffer = bufio.NewReader(r)
	zip, err := zlib.NewReader(z.buffer)
	if err != nil {
		return nil, damaged(err)
	}
	z.zip = zip
	return zip, nil
}

// damaged says of an error in unpacking what it means.
func damaged(err error) error {
	switch {
	case err == nil:
		return nil
	case err == io.EOF || err == io.ErrUnexpectedEOF:
		return errors.New("its numbers end before its sizes say: the file is damaged")
	}
	return fmt.Errorf("it cannot be unpacked (%w): the file is damaged", err)
}
