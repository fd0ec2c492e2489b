package scan

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"
)

// A binary STL file: 80 bytes of anything, the number of triangles, then for
// each a normal and three vertices of 4-byte floats and two bytes of anything.
const (
	stlHeader   = 84
	stlTriangle = 50
)

// binarySTL reports whether the length is what the number of triangles asks.
// Many binary files begin with the word of a text file, so that this is asked
// first.
func binarySTL(data []byte) bool {
	return len(data) >= stlHeader && int64(len(data)) == stlHeader+stlTriangle*stlCount(data)
}

func stlCount(data []byte) int64 { return int64(binary.LittleEndian.Uint32(data[80:])) }

func stlText(data []byte) bool {
	const word = "solid"
	return len(data) >= len(word) && strings.EqualFold(string(data[:len(word)]), word)
}

func readSTL(data []byte) (*triangleSoup, error) {
	if !binarySTL(data) && stlText(data) {
		return readSTLText(data)
	}
	switch {
	case len(data) < stlHeader:
		return nil, &MeshError{STL, 0, int64(len(data)),
			fmt.Errorf("the file ends within its header of %d bytes", stlHeader)}
	case int64(len(data)) < stlHeader+stlTriangle*stlCount(data):
		return nil, &MeshError{STL, 0, int64(len(data)),
			fmt.Errorf("the file ends after %d of %d triangles", (len(data)-stlHeader)/stlTriangle,
				stlCount(data))}
	case !binarySTL(data):
		return nil, &MeshError{STL, 0, stlHeader + stlTriangle*stlCount(data),
			fmt.Errorf("more bytes than %d triangles need", stlCount(data))}
	}
	return readSTLBinary(data)
}

func readSTLBinary(data []byte) (*triangleSoup, error) {
	n := int(stlCount(data))
	s := &triangleSoup{vertices: make([]r3.Vec, 0, 3*n), triangles: make([][3]int32, 0, n)}
	for i := range n {
		start := stlHeader + i*stlTriangle + 12 // after the normal
		for corner := range 3 {
			at := start + 12*corner
			v := r3.Vec{X: float32At(data[at:]), Y: float32At(data[at+4:]), Z: float32At(data[at+8:])}
			if !isFinite(v) {
				return nil, &MeshError{STL, 0, int64(at),
					fmt.Errorf("a vertex at (%g, %g, %g): expected numbers", v.X, v.Y, v.Z)}
			}
			s.vertices = append(s.vertices, v)
		}
		s.triangles = append(s.triangles, [3]int32{int32(3 * i), int32(3*i + 1), int32(3*i + 2)})
	}
	return s, nil
}

func float32At(data []byte) float64 {
	return float64(math.Float32frombits(binary.LittleEndian.Uint32(data)))
}

// readSTLText reads the vertices of each loop; the normals are passed over.
func readSTLText(data []byte) (*triangleSoup, error) {
	s := &triangleSoup{}
	lines := textLines{rest: data}
	open := -1 // first vertex of the open loop
	ended := false
	for {
		fields, ok := lines.next()
		if !ok {
			break
		}
		if len(fields) == 0 {
			continue
		}
		var err error
		switch word := string(bytes.ToLower(fields[0])); {
		case word == "vertex" && open < 0:
			err = errors.New("a vertex outside a loop: expected facet, outer loop, three vertices, " +
				"endloop, endfacet")
		case word == "vertex":
			var v r3.Vec
			v, err = position(fields[1:])
			s.vertices = append(s.vertices, v)
		case word == "outer" && open >= 0:
			err = errors.New("a loop within a loop: expected endloop before it")
		case word == "outer":
			open = len(s.vertices)
		case word == "endloop":
			err = s.closeLoop(open)
			open = -1
		}
		if err != nil {
			return nil, &MeshError{STL, lines.number, -1, err}
		}
		ended = strings.EqualFold(string(fields[0]), "endsolid")
	}
	if !ended {
		return nil, &MeshError{STL, lines.number, -1, errors.New("the file ends before endsolid")}
	}
	return s, nil
}

func (s *triangleSoup) closeLoop(open int) error {
	if open < 0 || len(s.vertices)-open != 3 {
		return fmt.Errorf("a loop of %d vertices: expected 3", len(s.vertices)-max(open, 0))
	}
	v := int32(open)
	s.triangles = append(s.triangles, [3]int32{v, v + 1, v + 2})
	return nil
}
