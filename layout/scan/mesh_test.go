package scan

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout/hostile"
)

// A tetrahedron in every form that is read.
var (
	tetrahedronVertices  = []r3.Vec{{}, {X: 1}, {Y: 2}, {Z: 3.5}}
	tetrahedronTriangles = [][3]int32{{0, 2, 1}, {0, 1, 3}, {1, 2, 3}, {2, 0, 3}}
)

const plyTetrahedron = `ply
format ascii 1.0
comment any text
element vertex 4
property float x
property float y
property uchar red
property float z
element face 4
property list uchar int vertex_indices
property float quality
element edge 1
property int vertex1
property int vertex2
end_header
0 0 255 0
1 0 255 0
0 2 255 0
0 0 255 3.5
3 0 2 1 0.5
3 0 1 3 0.5
3 1 2 3 0.5
3 2 0 3 0.5
0 1
`

const objTetrahedron = `# any text
o head
v 0 0 0
v 1 0 0
v 0 2 0 0.5 0.5 0.5
v 0 0 3.5
vt 0.5 0.5
vn 0 0 1
usemtl skin
f 1 3 2
f 1/1 2/1 4/1
f -3//1 -2//1 -1//1

f 3/1/1 1/1/1 4/1/1
`

func plyBinaryTetrahedron(order binary.ByteOrder, name string) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "ply\r\nformat %s 1.0\r\nelement vertex 4\r\nproperty double x\r\nproperty double "+
		"y\r\nproperty "+
		"double z\r\nproperty short w\r\n"+
		"element face 4\r\nproperty list uchar short tags\r\nproperty list int uint vertex_index\r\n"+
		"end_header\r\n",
		name)
	for _, v := range tetrahedronVertices {
		binary.Write(&b, order, []float64{v.X, v.Y, v.Z})
		binary.Write(&b, order, int16(-7))
	}
	for _, t := range tetrahedronTriangles {
		binary.Write(&b, order, uint8(2))
		binary.Write(&b, order, []int16{1, -1})
		binary.Write(&b, order, int32(3))
		binary.Write(&b, order, t)
	}
	return b.Bytes()
}

func stlBinaryTetrahedron() []byte {
	var b bytes.Buffer
	b.WriteString(fmt.Sprintf("%-80s", "solid, though binary"))
	binary.Write(&b, binary.LittleEndian, uint32(len(tetrahedronTriangles)))
	for _, t := range tetrahedronTriangles {
		binary.Write(&b, binary.LittleEndian, [3]float32{})
		for _, i := range t {
			v := tetrahedronVertices[i]
			binary.Write(&b, binary.LittleEndian, [3]float32{float32(v.X), float32(v.Y), float32(v.Z)})
		}
		binary.Write(&b, binary.LittleEndian, uint16(0))
	}
	return b.Bytes()
}

func stlTextTetrahedron() string {
	var b strings.Builder
	b.WriteString("Solid head\n")
	for _, t := range tetrahedronTriangles {
		b.WriteString("  facet normal 0 0 0\n    outer loop\n")
		for _, i := range t {
			v := tetrahedronVertices[i]
			fmt.Fprintf(&b, "      vertex %g %g %e\n", v.X, v.Y, v.Z)
		}
		b.WriteString("    endloop\n  endfacet\n")
	}
	return b.String() + "endsolid head\n"
}

func meshFiles() map[string][]byte {
	return map[string][]byte{
		"ply":                []byte(plyTetrahedron),
		"ply, little endian": plyBinaryTetrahedron(binary.LittleEndian, "binary_little_endian"),
		"ply, big endian":    plyBinaryTetrahedron(binary.BigEndian, "binary_big_endian"),
		"obj":                []byte(objTetrahedron),
		"stl":                []byte(stlTextTetrahedron()),
		"stl, binary":        stlBinaryTetrahedron(),
	}
}

func TestReadMesh(t *testing.T) {
	for what, data := range meshFiles() {
		for _, format := range []MeshFormat{AnyMesh, MeshFormat(what[:3])} {
			m, err := ReadMesh(bytes.NewReader(data), format)
			if err != nil {
				t.Errorf("%s: %v", what, err)
				continue
			}
			if v, f := m.Size(); v != 4 || f != 4 || m.Dropped() != 0 {
				t.Errorf("%s: %d vertices, %d triangles, %d dropped, want 4, 4, 0", what, v, f,
					m.Dropped())
			}
			// The volume by the divergence theorem; a wrong corner
			// changes it.
			volume := 0.0
			for _, f := range m.triangles {
				volume += r3.Dot(m.vertices[f[0]], r3.Cross(m.vertices[f[1]], m.vertices[f[2]])) / 6
			}
			if want := 1 * 2 * 3.5 / 6; math.Abs(volume-want) > 1e-12 {
				t.Errorf("%s: volume %g, want %g", what, volume, want)
			}
		}
	}
}

func TestReadMeshCutsPolygons(t *testing.T) {
	m, err := ReadMesh(strings.NewReader("v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\nv 9 9 9\nf 1 2 3 4\nf 1 2 2\nf 4 3 1"),
		OBJ)
	if err != nil {
		t.Fatal(err)
	}
	if v, f := m.Size(); v != 4 || f != 2 || m.Dropped() != 2 {
		t.Errorf("%d vertices, %d triangles, %d dropped, want 4, 2, 2", v, f, m.Dropped())
	}
}

func TestReadMeshRefuses(t *testing.T) {
	const head = "ply\nformat ascii 1.0\n"
	const body = "element vertex 3\nproperty float x\nproperty float y\nproperty float z\nelement face 1\nproperty " +
		"list uchar int vertex_indices\nend_header\n"
	const three = "v 0 0 0\nv 1 0 0\nv 0 1 0\n"
	little := plyBinaryTetrahedron(binary.LittleEndian, "binary_little_endian")
	stl := stlBinaryTetrahedron()
	nan := bytes.Clone(stl)
	binary.LittleEndian.PutUint32(nan[stlHeader+12+4:], math.Float32bits(float32(math.NaN())))
	for _, c := range []struct {
		format     MeshFormat
		data, want string
	}{
		{AnyMesh, "", "no PLY, OBJ or STL file: is it a scan, and complete?"},
		{AnyMesh, "plywood", "no PLY, OBJ or STL file"},
		{AnyMesh, "a scanner\x00v 1 2\n", "no PLY, OBJ or STL file"},
		{OBJ, "plywood", "obj: no line gives a vertex: expected lines such as v 12.5"},
		{"off", "", "off: unknown mesh format: expected ply, obj or stl"},
		{PLY, "", "ply line 1: the file ends within its header"},
		{PLY, "plain\n", "ply line 1: not a PLY file"},
		{PLY, "ply\nend_header\n", "ply line 2: no format"},
		{PLY, "ply\n\n", "ply line 2: an empty line"},
		{PLY, head, "ply line 2: the file ends within its header"},
		{PLY, "ply\nformat ascii 2.0\n", `ply line 2: format "ascii" "2.0": expected`},
		{PLY, head + "element vertex -1\n", `ply line 3: "-1" rows`},
		{PLY, head + "property float x\n", `ply line 3: "property float x": expected`},
		{PLY, head + "element vertex 1\nproperty half x\n", `ply line 4: type "half": expected char`},
		{PLY, head + "element vertex 1\nproperty x\n", "ply line 4: a property of unknown form"},
		{PLY, head + "element vertex 1\nproperty float x\nend_header\n0\n", "vertex: no properties x, y and z"},
		{PLY, head + "element face 1\nproperty int x\nend_header\n0\n", "face: no property vertex_indices"},
		{PLY, head + body + "0 0 0\n1 0 0\n0 1 x\n3 0 1 2\n", `ply line 12: vertex: "x": expected a number`},
		{PLY, head + body + "0 0 0\n1 0 nan\n0 1 0\n3 0 1 2\n",
			`ply line 11: vertex: "nan": expected a number`},
		{PLY, head + body + "0 0 0\n1 0\n0 1 0\n3 0 1 2\n", "ply line 11: vertex: too few values"},
		{PLY, head + body + "0 0 0 0\n1 0 0\n0 1 0\n3 0 1 2\n", "ply line 10: vertex: 1 values too many"},
		{PLY, head + body + "0 0 0\n1 0 0\n0 1 0\n3 0 1 3\n",
			"ply line 13: face: corner at vertex 3: expected 0 to 2"},
		{PLY, head + body + "0 0 0\n1 0 0\n0 1 0\n2 0 1\n", "ply line 13: face: a face of 2 corners"},
		{PLY, head + body + "0 0 0\n1 0 0\n0 1 0\n1e9 0 1 2\n",
			"ply line 13: face: the file ends before all of 1000000000 rows"},
		{PLY, head + body + "0 0 0\n1 0 0\n0 1 0\n2.5 0 1 2\n", "ply line 13: face: a list of 2.5 values"},
		{PLY, head + body + "0 0 0\n1 0 0\n0 1 0\n", "face: the file ends"},
		{PLY, head + strings.Replace(body, "vertex 3", "vertex 2000000000", 1) + "0 0 0\n",
			"vertex: the file ends before all of 2000000000 rows"},
		{PLY, string(little[:len(little)-1]),
			fmt.Sprintf("ply byte %d: face: the file ends before all of 3 rows: 11 bytes", len(little)-12)},
		{OBJ, "v 0 0\n", "obj line 1: a vertex of 2 coordinates"},
		{OBJ, "v 0 0 inf\n", `obj line 1: "inf": expected a number`},
		{OBJ, three + "f 1 2\n", "obj line 4: a face of 2 corners"},
		{OBJ, three + "f 1 2 x\n", `obj line 4: corner "x": expected`},
		{OBJ, three + "f 1 2 4\n", "obj line 4: corner at vertex 4: there are 3"},
		{OBJ, three + "f 1 2 0\n", "obj line 4: corner at vertex 0: there are 3"},
		{OBJ, three + "f 1 2 -4\n", "obj line 4: corner at vertex -4: there are 3"},
		{OBJ, three, "obj: no triangles: expected a surface, not points alone"},
		{OBJ, three + "f 1 1 2", "obj: no triangles"},
		{OBJ, three + "v 0 0 1\nv 0 0 -1\nf 1 2 3\nf 1 2 4\nf 2 1 5\n",
			"obj: the edge from (0, 0, 0) to (1, 0, 0) belongs to 3 triangles (edges of more than two: 1): " +
				"repair the scan"},
		{STL, "", "stl byte 0: the file ends within its header"},
		{STL, string(stl[:len(stl)-20]), "stl line 1: the file ends before endsolid"}, // its header says solid
		{STL, strings.Replace(string(stl[:len(stl)-20]), "solid", "Solid", 1)[1:] + "  ", "stl byte"},
		{STL, string(nan), fmt.Sprintf("stl byte %d: a vertex at (0, NaN, 0)", stlHeader+12)},
		{STL, "solid\nvertex 0 0 0\n", "stl line 2: a vertex outside a loop"},
		{STL, "solid\nouter loop\nouter loop\n", "stl line 3: a loop within a loop"},
		{STL, "solid\nouter loop\nvertex 0 0 0\nendloop\n", "stl line 4: a loop of 1 vertices: expected 3"},
		{STL, "solid\nouter loop\nvertex 0 zero 0\n", `stl line 3: "zero": expected a number`},
		{STL, "solid\n", "stl line 1: the file ends before endsolid"},
		{STL, "solid\nendsolid\n", "stl: no triangles"},
	} {
		_, err := ReadMesh(strings.NewReader(c.data), c.format)
		if _, ok := errors.AsType[*MeshError](err); !ok || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%.60q: %v, want %s", c.data, err, c.want)
		}
	}
}

func TestNewMeshRefuses(t *testing.T) {
	for _, c := range []struct {
		vertices  []r3.Vec
		triangles [][3]int32
		want      string
	}{
		{nil, nil, "no triangles"},
		{[]r3.Vec{{X: math.Inf(1)}}, nil, "vertex 0 is at (+Inf, 0, 0): expected numbers"},
		{tetrahedronVertices, [][3]int32{{0, 1, 4}}, "triangle 0 has vertex 4: expected 0 to 3"},
		{tetrahedronVertices, [][3]int32{{0, 1, -1}}, "triangle 0 has vertex -1"},
	} {
		if _, err := NewMesh(c.vertices, c.triangles); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v: %v, want %s", c.triangles, err, c.want)
		}
	}
}

// A mesh that was read has only whole triangles, and every section of it closes
// or ends at a rim.
func FuzzReadMesh(f *testing.F) {
	for _, data := range meshFiles() {
		f.Add(data)
	}
	for _, data := range hostile.Seeds(f, os.DirFS("../../testdata"), "corpus/meshes/*.[pos]*", "layout/scan.ply") {
		f.Add(data)
	}
	f.Add([]byte("ply\nformat ascii 1.0\nelement vertex 2000000000\nend_header\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		defer hostile.Budget(t, len(data))()
		for _, format := range []MeshFormat{AnyMesh, PLY, OBJ, STL} {
			m, err := ReadMesh(bytes.NewReader(data), format)
			if err != nil {
				if _, ok := errors.AsType[*MeshError](err); !ok || err.Error() == "" {
					t.Errorf("%v is no MeshError", err)
				}
				continue
			}
			for _, v := range m.vertices {
				if !isFinite(v) {
					t.Errorf("vertex %v", v)
				}
			}
			points := 0
			for _, c := range m.cut(plane{r3.Vec{Z: 1}, 0.25}) {
				points += len(c.points)
			}
			if points > 3*len(m.triangles) {
				t.Errorf("%d points on %d triangles", points, len(m.triangles))
			}
		}
	})
}

func BenchmarkReadMesh(b *testing.B) {
	vertices, triangles := icosphere(6)
	var ply bytes.Buffer
	fmt.Fprintf(&ply, "ply\nformat ascii 1.0\nelement vertex %d\nproperty float x\nproperty float y\n"+
		"property float z\n"+
		"element face %d\nproperty list uchar int vertex_indices\nend_header\n", len(vertices), len(triangles))
	for _, v := range vertices {
		fmt.Fprintf(&ply, "%.6f %.6f %.6f\n", v.X, v.Y, v.Z)
	}
	for _, t := range triangles {
		fmt.Fprintf(&ply, "3 %d %d %d\n", t[0], t[1], t[2])
	}
	b.SetBytes(int64(ply.Len()))
	for b.Loop() {
		if _, err := ReadMesh(bytes.NewReader(ply.Bytes()), AnyMesh); err != nil {
			b.Fatal(err)
		}
	}
}
