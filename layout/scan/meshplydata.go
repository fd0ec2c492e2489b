package scan

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
)

// plyText reads numbers from lines, a row each.
type plyText struct {
	lines  *textLines
	fields [][]byte
}

func (t *plyText) row() error {
	if len(t.fields) > 0 {
		return fmt.Errorf("%d values too many", len(t.fields))
	}
	for len(t.fields) == 0 {
		var ok bool
		if t.fields, ok = t.lines.next(); !ok {
			return errors.New("the file ends before all rows that its header announces")
		}
	}
	return nil
}

func (t *plyText) value(plyType) (float64, error) {
	if len(t.fields) == 0 {
		return 0, errors.New("too few values")
	}
	v, err := meshNumber(t.fields[0])
	t.fields = t.fields[1:]
	return v, err
}

// holds counts a digit and a separator for each value.
func (t *plyText) holds(rows int, e *plyElement) error {
	left := len(t.lines.rest) + 1
	for _, f := range t.fields {
		left += len(f) + 1
	}
	return plyHolds(rows, 2*len(e.properties), left)
}

func (t *plyText) fault(err error) *MeshError { return &MeshError{PLY, t.lines.number, -1, err} }

// plyBinary reads numbers from bytes without gaps.
type plyBinary struct {
	order binary.ByteOrder
	data  []byte
	at    int
}

func (*plyBinary) row() error { return nil }

func (b *plyBinary) value(t plyType) (float64, error) {
	rest := b.data[b.at:]
	if len(rest) < t.size {
		return 0, errors.New("the file ends before all rows that its header announces")
	}
	b.at += t.size
	switch {
	case t.decimal && t.size == 8:
		return math.Float64frombits(b.order.Uint64(rest)), nil
	case t.decimal:
		return float64(math.Float32frombits(b.order.Uint32(rest))), nil
	case t.size == 4 && t.signed:
		return float64(int32(b.order.Uint32(rest))), nil
	case t.size == 4:
		return float64(b.order.Uint32(rest)), nil
	case t.size == 2 && t.signed:
		return float64(int16(b.order.Uint16(rest))), nil
	case t.size == 2:
		return float64(b.order.Uint16(rest)), nil
	case t.signed:
		return float64(int8(rest[0])), nil
	}
	return float64(rest[0]), nil
}

func (b *plyBinary) holds(rows int, e *plyElement) error {
	size := 0
	for _, p := range e.properties {
		if p.list {
			size += p.length.size
		} else {
			size += p.kind.size
		}
	}
	return plyHolds(rows, size, len(b.data)-b.at)
}

func (b *plyBinary) fault(err error) *MeshError { return &MeshError{PLY, 0, int64(b.at), err} }

// plyHolds refuses counts that the rest of the file cannot hold, before memory
// is taken for them.
func plyHolds(rows, size, left int) error {
	if int64(rows)*int64(size) > int64(left) {
		return fmt.Errorf("the file ends before all of %d rows: %d bytes are left", rows, left)
	}
	return nil
}
