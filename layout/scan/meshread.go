package scan

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"

	"gonum.org/v1/gonum/spatial/r3"
)

// A MeshFormat is a file form of triangles.
type MeshFormat string

const (
	AnyMesh MeshFormat = ""    // found from the content
	PLY     MeshFormat = "ply" // text, or binary of either byte order
	OBJ     MeshFormat = "obj"
	STL     MeshFormat = "stl" // text or binary
)

// A MeshError says what is wrong in a mesh file, and where.
type MeshError struct {
	Format MeshFormat
	Line   int   // of a text or a header, from 1; 0 when it is no line's fault
	Offset int64 // byte of binary data, from 0; −1 when it is no byte's fault
	Err    error
}

func (e *MeshError) Error() string {
	switch {
	case e.Line > 0:
		return fmt.Sprintf("%s line %d: %v", e.Format, e.Line, e.Err)
	case e.Offset >= 0:
		return fmt.Sprintf("%s byte %d: %v", e.Format, e.Offset, e.Err)
	}
	if e.Format == AnyMesh {
		return e.Err.Error()
	}
	return fmt.Sprintf("%s: %v", e.Format, e.Err)
}

// Unwrap returns Err.
func (e *MeshError) Unwrap() error { return e.Err }

// Larger files than this are refused; a fine head scan has some 50 MB.
const maxMeshFile = 1 << 30

// ReadMesh reads a PLY, OBJ or STL file. Polygons of more than three corners
// are cut into triangles from their first corner; colours, texture and other
// parts are passed over. Positions keep the file's coordinates and unit. What
// the file holds is then taken as by [NewMesh]. Errors are of type
// *[MeshError], except those of r.
func ReadMesh(r io.Reader, format MeshFormat) (*Mesh, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxMeshFile+1))
	if err != nil {
		return nil, err
	}
	guessed := format == AnyMesh
	if guessed {
		format = meshFormat(data)
	}
	if len(data) > maxMeshFile {
		return nil, &MeshError{format, 0, -1,
			fmt.Errorf("longer than %d bytes: reduce the scan to 200,000 triangles", maxMeshFile)}
	}
	read, ok := map[MeshFormat]func([]byte) (*triangleSoup, error){PLY: readPLY, OBJ: readOBJ, STL: readSTL}[format]
	if !ok {
		return nil, &MeshError{format, 0, -1, errors.New("unknown mesh format: expected ply, obj or stl")}
	}
	soup, err := read(data)
	if guessed && format == OBJ && (errors.Is(err, errNoVertex) || err != nil && bytes.IndexByte(data, 0) >= 0) {
		return nil, &MeshError{AnyMesh, 0, -1,
			errors.New("no PLY, OBJ or STL file: is it a scan, and complete? An STL file that is cut " +
				"short looks " +
				"like this too")}
	}
	if err != nil {
		return nil, err
	}
	m, err := NewMesh(soup.vertices, soup.triangles)
	if err != nil {
		return nil, &MeshError{format, 0, -1, err}
	}
	return m, nil
}

// meshFormat finds the form of a file from its content. OBJ files begin with
// anything and are what is left.
func meshFormat(data []byte) MeshFormat {
	switch {
	case bytes.HasPrefix(data, []byte("ply\n")), bytes.HasPrefix(data, []byte("ply\r\n")):
		return PLY
	case binarySTL(data), stlText(data):
		return STL
	}
	return OBJ
}

// A triangleSoup is what stands in a file.
type triangleSoup struct {
	vertices  []r3.Vec
	triangles [][3]int32
}

// polygon adds a polygon as a fan of triangles.
func (s *triangleSoup) polygon(corners []int32) error {
	if len(corners) < 3 {
		return fmt.Errorf("a face of %d corners: expected 3 or more", len(corners))
	}
	for i := 2; i < len(corners); i++ {
		s.triangles = append(s.triangles, [3]int32{corners[0], corners[i-1], corners[i]})
	}
	return nil
}

// textLines yields the lines of a text, numbered from 1.
type textLines struct {
	rest   []byte
	number int
	fields [][]byte
}

// next returns the fields of the next line, which live until the following one.
func (l *textLines) next() (fields [][]byte, ok bool) {
	if len(l.rest) == 0 {
		return nil, false
	}
	line, rest, _ := bytes.Cut(l.rest, []byte{'\n'})
	l.rest = rest
	l.number++
	l.fields = l.fields[:0]
	for f := range bytes.FieldsSeq(line) {
		l.fields = append(l.fields, f)
	}
	return l.fields, true
}

// position reads three numbers.
func position(fields [][]byte) (r3.Vec, error) {
	if len(fields) < 3 {
		return r3.Vec{}, fmt.Errorf("a vertex of %d coordinates: expected x, y and z", len(fields))
	}
	var v [3]float64
	for i := range v {
		var err error
		if v[i], err = meshNumber(fields[i]); err != nil {
			return r3.Vec{}, err
		}
	}
	return r3.Vec{X: v[0], Y: v[1], Z: v[2]}, nil
}

func meshNumber(field []byte) (float64, error) {
	v, err := strconv.ParseFloat(string(field), 64)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		return 0, fmt.Errorf("%.40q: expected a number", field)
	}
	return v, nil
}
