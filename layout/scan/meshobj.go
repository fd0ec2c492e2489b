package scan

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
)

var errNoVertex = errors.New("no line gives a vertex: expected lines such as v 12.5 80.1 33")

// readOBJ reads the lines v and f of a Wavefront OBJ text (common practice, no
// standard) and passes over all others. Indices count from 1, or from the last
// vertex backwards when negative.
func readOBJ(data []byte) (*triangleSoup, error) {
	s := &triangleSoup{}
	lines := textLines{rest: data}
	var corners []int32
	for {
		fields, ok := lines.next()
		if !ok {
			break
		}
		if len(fields) == 0 {
			continue
		}
		var err error
		switch string(fields[0]) {
		case "v":
			err = s.objVertex(fields[1:])
		case "f":
			if corners, err = s.objCorners(corners[:0], fields[1:]); err == nil {
				err = s.polygon(corners)
			}
		}
		if err != nil {
			return nil, &MeshError{OBJ, lines.number, -1, err}
		}
	}
	if len(s.vertices) == 0 {
		return nil, &MeshError{OBJ, 0, -1, errNoVertex}
	}
	return s, nil
}

func (s *triangleSoup) objVertex(fields [][]byte) error {
	v, err := position(fields)
	s.vertices = append(s.vertices, v)
	return err
}

// objCorners reads corners such as 7, 7/1, 7//3 or 7/1/3: vertex, texture,
// normal.
func (s *triangleSoup) objCorners(corners []int32, fields [][]byte) ([]int32, error) {
	for _, f := range fields {
		vertex, _, _ := bytes.Cut(f, []byte{'/'})
		i, err := strconv.Atoi(string(vertex))
		if err != nil {
			return nil, fmt.Errorf("corner %.40q: expected the number of a vertex", f)
		}
		given := i
		if i < 0 {
			i += len(s.vertices) + 1
		}
		if i < 1 || i > len(s.vertices) {
			return nil, fmt.Errorf("corner at vertex %d: there are %d before this line", given,
				len(s.vertices))
		}
		corners = append(corners, int32(i-1))
	}
	return corners, nil
}
