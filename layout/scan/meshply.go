package scan

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"strconv"

	"gonum.org/v1/gonum/spatial/r3"
)

// A plyElement is a table of a PLY file (Turk 1994, The PLY Polygon File
// Format): so many rows of the same properties.
type plyElement struct {
	name       string
	count      int
	properties []plyProperty
}

type plyProperty struct {
	name   string
	kind   plyType
	list   bool
	length plyType // of the number before a list
}

type plyType struct {
	size    int
	decimal bool // floating point
	signed  bool
}

func plyTypeOf(name []byte) (plyType, error) {
	switch string(name) {
	case "char", "int8":
		return plyType{1, false, true}, nil
	case "uchar", "uint8":
		return plyType{1, false, false}, nil
	case "short", "int16":
		return plyType{2, false, true}, nil
	case "ushort", "uint16":
		return plyType{2, false, false}, nil
	case "int", "int32":
		return plyType{4, false, true}, nil
	case "uint", "uint32":
		return plyType{4, false, false}, nil
	case "float", "float32":
		return plyType{4, true, true}, nil
	case "double", "float64":
		return plyType{8, true, true}, nil
	}
	return plyType{}, fmt.Errorf("type %.40q: expected char, uchar, short, ushort, int, uint, float or double",
		name)
}

// A plyHeader is all before the data.
type plyHeader struct {
	format   string
	elements []plyElement
}

// The forms of the data.
var plyOrders = map[string]binary.ByteOrder{
	"ascii": nil, "binary_little_endian": binary.LittleEndian, "binary_big_endian": binary.BigEndian,
}

// readPLYHeader leaves lines at the first byte of the data.
func readPLYHeader(lines *textLines) (*plyHeader, error) {
	h := &plyHeader{}
	for {
		fields, ok := lines.next()
		switch {
		case !ok:
			return nil, errors.New("the file ends within its header: expected end_header")
		case lines.number == 1:
			if len(fields) != 1 || string(fields[0]) != "ply" {
				return nil, errors.New("not a PLY file: expected ply in the first line")
			}
			continue
		case len(fields) == 0:
			return nil, errors.New("an empty line in the header")
		}
		if string(fields[0]) == "end_header" {
			if h.format == "" {
				return nil, errors.New("no format in the header")
			}
			return h, nil
		}
		if err := h.line(fields); err != nil {
			return nil, err
		}
	}
}

func (h *plyHeader) line(fields [][]byte) error {
	switch word := string(fields[0]); {
	case word == "comment" || word == "obj_info":
		return nil
	case word == "format" && len(fields) == 3:
		if _, ok := plyOrders[string(fields[1])]; !ok || string(fields[2]) != "1.0" {
			return fmt.Errorf("format %.40q %.40q: expected ascii, binary_little_endian or "+
				"binary_big_endian 1.0",
				fields[1], fields[2])
		}
		h.format = string(fields[1])
		return nil
	case word == "element" && len(fields) == 3:
		n, err := strconv.ParseUint(string(fields[2]), 10, 31)
		if err != nil {
			return fmt.Errorf("%.40q rows: expected a whole number", fields[2])
		}
		h.elements = append(h.elements, plyElement{name: string(fields[1]), count: int(n)})
		return nil
	case word == "property" && len(h.elements) > 0:
		p, err := plyPropertyOf(fields[1:])
		e := &h.elements[len(h.elements)-1]
		e.properties = append(e.properties, p)
		return err
	}
	return fmt.Errorf("%.60q: expected format, element, property, comment or end_header",
		bytes.Join(fields, []byte{' '}))
}

func plyPropertyOf(fields [][]byte) (p plyProperty, err error) {
	switch {
	case len(fields) == 2:
		p.name = string(fields[1])
		p.kind, err = plyTypeOf(fields[0])
	case len(fields) == 4 && string(fields[0]) == "list":
		p.name, p.list = string(fields[3]), true
		if p.length, err = plyTypeOf(fields[1]); err == nil {
			p.kind, err = plyTypeOf(fields[2])
		}
	default:
		err = errors.New("a property of unknown form: expected type and name, or list, two types and name")
	}
	return p, err
}

// plyValues yields the numbers of the data, row by row.
type plyValues interface {
	row() error                          // begins the next row
	value(t plyType) (float64, error)    // the next number of the row
	holds(rows int, e *plyElement) error // whether that many rows can be left
	fault(err error) *MeshError          // the error with its place
}

func readPLY(data []byte) (*triangleSoup, error) {
	lines := &textLines{rest: data}
	h, err := readPLYHeader(lines)
	if err != nil {
		return nil, &MeshError{PLY, max(1, lines.number), -1, err}
	}
	var values plyValues = &plyText{lines: lines}
	if order := plyOrders[h.format]; order != nil {
		values = &plyBinary{order: order, data: data, at: len(data) - len(lines.rest)}
	}
	s := &triangleSoup{}
	for i := range h.elements {
		if err := s.plyRows(&h.elements[i], values); err != nil {
			return nil, values.fault(fmt.Errorf("%s: %w", h.elements[i].name, err))
		}
	}
	return s, nil
}

// plyRows reads all rows of an element. Vertices must come before faces, as
// they do by the format's description.
func (s *triangleSoup) plyRows(e *plyElement, values plyValues) error {
	if len(e.properties) == 0 {
		return nil // rows without a byte
	}
	if err := values.holds(e.count, e); err != nil {
		return err
	}
	columns, corners := e.positionColumns(), e.cornerColumn()
	switch {
	case e.name == "vertex" && columns == [3]int{-1, -1, -1}:
		return errors.New("no properties x, y and z")
	case e.name == "face" && corners < 0:
		return errors.New("no property vertex_indices")
	}
	scalars := make([]float64, len(e.properties))
	var list []int32
	for range e.count {
		if err := values.row(); err != nil {
			return err
		}
		for i, p := range e.properties {
			var err error
			switch {
			case !p.list:
				scalars[i], err = values.value(p.kind)
			case i == corners:
				list, err = s.plyList(list[:0], p, values, e)
			default:
				_, err = plySkip(p, values, e)
			}
			if err != nil {
				return err
			}
		}
		if err := s.plyRow(e, scalars, columns, list); err != nil {
			return err
		}
	}
	return nil
}

func (s *triangleSoup) plyRow(e *plyElement, scalars []float64, columns [3]int, list []int32) error {
	switch e.name {
	case "vertex":
		v := r3.Vec{X: scalars[columns[0]], Y: scalars[columns[1]], Z: scalars[columns[2]]}
		if !isFinite(v) {
			return fmt.Errorf("a vertex at (%g, %g, %g): expected numbers", v.X, v.Y, v.Z)
		}
		s.vertices = append(s.vertices, v)
	case "face":
		return s.polygon(list)
	}
	return nil
}

// positionColumns finds x, y and z; all are −1 when one is missing.
func (e *plyElement) positionColumns() [3]int {
	columns := [3]int{-1, -1, -1}
	for i, p := range e.properties {
		if len(p.name) == 1 && 'x' <= p.name[0] && p.name[0] <= 'z' && !p.list {
			columns[p.name[0]-'x'] = i
		}
	}
	if min(columns[0], columns[1], columns[2]) < 0 {
		return [3]int{-1, -1, -1}
	}
	return columns
}

// cornerColumn finds the list of vertices of a face.
func (e *plyElement) cornerColumn() int {
	for i, p := range e.properties {
		if e.name == "face" && p.list && (p.name == "vertex_indices" || p.name == "vertex_index") {
			return i
		}
	}
	return -1
}

func (s *triangleSoup) plyList(list []int32, p plyProperty, values plyValues, e *plyElement) ([]int32, error) {
	n, err := plyLength(p, values, e)
	if err != nil {
		return nil, err
	}
	for range n {
		v, err := values.value(p.kind)
		if err != nil {
			return nil, err
		}
		if v != math.Trunc(v) || v < 0 || v >= float64(len(s.vertices)) {
			return nil, fmt.Errorf("corner at vertex %g: expected 0 to %d", v, len(s.vertices)-1)
		}
		list = append(list, int32(v))
	}
	return list, nil
}

func plySkip(p plyProperty, values plyValues, e *plyElement) (int, error) {
	n, err := plyLength(p, values, e)
	for i := 0; i < n && err == nil; i++ {
		_, err = values.value(p.kind)
	}
	return n, err
}

// plyLength reads the number before a list.
func plyLength(p plyProperty, values plyValues, e *plyElement) (int, error) {
	n, err := values.value(p.length)
	if err != nil {
		return 0, err
	}
	if n != math.Trunc(n) || n < 0 || n > math.MaxInt32 {
		return 0, fmt.Errorf("a list of %g values: expected a whole number", n)
	}
	one := plyElement{name: e.name, properties: []plyProperty{{kind: p.kind}}}
	return int(n), values.holds(int(n), &one)
}
