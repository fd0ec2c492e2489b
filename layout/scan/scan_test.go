package scan

import (
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/layout/internal/headtest"
)

// icosphere is the icosahedron whose triangles are cut in four, so many times,
// its corners on the unit sphere.
func icosphere(times int) ([]r3.Vec, [][3]int32) {
	g := (1 + math.Sqrt(5)) / 2
	vertices := []r3.Vec{
		{X: -1, Y: g}, {X: 1, Y: g}, {X: -1, Y: -g}, {X: 1, Y: -g},
		{Y: -1, Z: g}, {Y: 1, Z: g}, {Y: -1, Z: -g}, {Y: 1, Z: -g},
		{X: g, Z: -1}, {X: g, Z: 1}, {X: -g, Z: -1}, {X: -g, Z: 1},
	}
	for i := range vertices {
		vertices[i] = r3.Unit(vertices[i])
	}
	triangles := [][3]int32{
		{0, 11, 5}, {0, 5, 1}, {0, 1, 7}, {0, 7, 10}, {0, 10, 11}, {1, 5, 9}, {5, 11, 4}, {11, 10, 2},
		{10, 7, 6},
		{7, 1, 8},
		{3, 9, 4}, {3, 4, 2}, {3, 2, 6}, {3, 6, 8}, {3, 8, 9}, {4, 9, 5}, {2, 4, 11}, {6, 2, 10}, {8, 6, 7},
		{9, 8, 1},
	}
	for range times {
		middles := map[edge]int32{}
		middle := func(a, b int32) int32 {
			e := newEdge(a, b)
			m, ok := middles[e]
			if !ok {
				m = int32(len(vertices))
				vertices = append(vertices, r3.Unit(r3.Add(vertices[a], vertices[b])))
				middles[e] = m
			}
			return m
		}
		var finer [][3]int32
		for _, t := range triangles {
			a, b, c := middle(t[0], t[1]), middle(t[1], t[2]), middle(t[2], t[0])
			finer = append(finer, [3]int32{t[0], a, c}, [3]int32{t[1], b, a}, [3]int32{t[2], c, b},
				[3]int32{a, b, c})
		}
		triangles = finer
	}
	return vertices, triangles
}

// A pose is how a scanner sees a head: first the vertices change, then those
// triangles stay whose middle, in head coordinates, is kept.
type pose struct {
	change func(r3.Vec) r3.Vec
	keep   func(r3.Vec) bool
}

func unmoved(v r3.Vec) r3.Vec { return v }
func all(r3.Vec) bool         { return true }

// scanOf meshes an ellipsoid.
func scanOf(t testing.TB, e head.Ellipsoid, times int, p pose) (*Mesh, Landmarks) {
	t.Helper()
	unit, triangles := icosphere(times)
	vertices := make([]r3.Vec, len(unit))
	for i, u := range unit {
		vertices[i] = p.change(e.FromUnit(u))
	}
	triangles = slices.DeleteFunc(triangles, func(f [3]int32) bool {
		return !p.keep(e.FromUnit(r3.Scale(1.0/3, r3.Add(unit[f[0]], r3.Add(unit[f[1]], unit[f[2]])))))
	})
	m, err := NewMesh(vertices, triangles)
	if err != nil {
		t.Fatal(err)
	}
	l := e.Landmarks()
	return m, Landmarks{p.change(l.Nasion), p.change(l.Inion), p.change(l.LeftPreauricular),
		p.change(l.RightPreauricular)}
}

// turnedAway is a pose that shares no axis with the head.
func turnedAway(v r3.Vec) r3.Vec {
	q := r3.NewRotation(2.1, r3.Vec{X: 1, Y: -2, Z: 0.5})
	return r3.Add(q.Rotate(v), r3.Vec{X: 310, Y: -20, Z: 1500})
}

func mustScan(t testing.TB, m *Mesh, l Landmarks, unit string) *Scan {
	t.Helper()
	s, err := New(m, l, unit)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// The sites of the ellipsoid are checked against quadrature elsewhere. The
// error of a mesh falls with the square of its edge.
func TestScanOfEllipsoid(t *testing.T) {
	e := headtest.Measured(t)
	var errors []float64
	for times := 3; times <= 5; times++ {
		m, l := scanOf(t, e, times, pose{unmoved, all})
		s := mustScan(t, m, l, "")
		errors = append(errors, headtest.Worst(t, s, e))
		_, triangles := m.Size()
		t.Logf("%d triangles: worst of 345 sites %.4f mm, measures %+v", triangles, errors[len(errors)-1],
			s.Measures())
	}
	if errors[2] > 0.05 {
		t.Errorf("20480 triangles: a site is %.3f mm off, want 0.05 at most", errors[2])
	}
	for i, ratio := range []float64{errors[0] / errors[1], errors[1] / errors[2]} {
		if ratio < 3 || ratio > 5.5 {
			t.Errorf("step %d: half the edge divides the error by %.2f, want about 4", i, ratio)
		}
	}
}

func TestScanInOtherPoseAndUnit(t *testing.T) {
	e := headtest.Measured(t)
	neck := func(v r3.Vec) bool { return v.Z > -60 && headtest.Apart(v, r3.Vec{X: 70, Y: -10, Z: -55}) > 12 }
	for unit, mm := range map[string]float64{"m": 1000, "cm": 10, "mm": 1} {
		m, l := scanOf(t, e, 5, pose{func(v r3.Vec) r3.Vec { return r3.Scale(1/mm, turnedAway(v)) }, neck})
		for _, stated := range []string{"", unit} {
			s := mustScan(t, m, l, stated)
			if s.Unit() != unit {
				t.Errorf("a scan in %s is taken to be in %s", unit, s.Unit())
			}
			if d := headtest.Worst(t, s, e); d > 0.05 {
				t.Errorf("scan in %s: a site is %.3f mm off", unit, d)
			}
			if len(s.Warnings()) > 0 {
				t.Errorf("warnings %q", s.Warnings())
			}
		}
	}
}

func TestScanRefuses(t *testing.T) {
	e := headtest.Measured(t)
	good := pose{turnedAway, all}
	hole := func(centre r3.Vec, radius float64) pose {
		return pose{unmoved, func(v r3.Vec) bool { return headtest.Apart(v, centre) > radius }}
	}
	at := headtest.Positions(t, e, "Cz", "Fz", "C4", "P7")
	same := func(l Landmarks) Landmarks { return l }
	for _, c := range []struct {
		what   string
		pose   pose
		unit   string
		change func(Landmarks) Landmarks
		want   string
	}{
		{"left and right exchanged", good, "", func(l Landmarks) Landmarks {
			l.LeftPreauricular, l.RightPreauricular = l.RightPreauricular, l.LeftPreauricular
			return l
		}, "are LPA and RPA, or NAS and INI, exchanged"},
		{"open below, front and back exchanged", pose{turnedAway, func(v r3.Vec) bool { return v.Z > -60 }}, "",
			func(l Landmarks) Landmarks {
				l.Nasion, l.Inion = l.Inion, l.Nasion
				return l
			}, "are LPA and RPA, or NAS and INI, exchanged"},
		{"mirrored", pose{func(v r3.Vec) r3.Vec { return turnedAway(r3.Vec{X: -v.X, Y: v.Y, Z: v.Z}) }, all},
			"",
			same,
			"is the scan mirrored"},
		{"nasion and left exchanged", good, "", func(l Landmarks) Landmarks {
			l.Nasion, l.LeftPreauricular = l.LeftPreauricular, l.Nasion
			return l
		}, "do not follow each other around the head"},
		{"a quarter turn off", good, "", func(l Landmarks) Landmarks {
			return Landmarks{l.RightPreauricular, l.LeftPreauricular, l.Nasion, l.Inion}
		}, "times as wide as long: expected 1.05 at most, are the landmarks in another order"},
		{"a quarter turn off, the other way", good, "", func(l Landmarks) Landmarks {
			return Landmarks{l.LeftPreauricular, l.RightPreauricular, l.Inion, l.Nasion}
		}, "are the landmarks in another order, a quarter turn off?"},
		{"a landmark far away", good, "", func(l Landmarks) Landmarks {
			l.LeftPreauricular.X += 1500
			return l
		}, "landmark LPA lies far from the other three: mark it again"},
		{"a landmark far off", good, "", func(l Landmarks) Landmarks {
			l.Inion = r3.Add(l.Inion, r3.Scale(0.1, r3.Sub(l.Inion, l.Nasion)))
			return l
		}, "landmark INI is 1"},
		{"another unit", good, "cm", same, "apart on average: no head, is the scan in mm?"},
		{"no unit", good, "inch", same, `unit "inch" of the scan: expected m, cm or mm`},
		{"a head of 5.6 m", pose{func(v r3.Vec) r3.Vec { return r3.Scale(10, v) }, all}, "", same,
			"no head in m, cm or mm"},
		{"a head of 56 mm", pose{func(v r3.Vec) r3.Vec { return r3.Scale(0.1, v) }, all}, "mm", same,
			"is the scan in cm?"},
		{"landmarks at one point", good, "", func(Landmarks) Landmarks { return Landmarks{} },
			"no head in m, cm or mm"},
		{"a hole at the vertex", hole(at["Cz"], 12), "", same, "arc NAS-Cz-INI: no section"},
		{"a hole in front", hole(at["Fz"], 8), "", same,
			"a hole between the first and the middle point, from 2"},
		{"a hole on the right", hole(at["C4"], 8), "", same, "arc LPA-Cz-RPA: no section"},
		{"a hole in the ring", hole(at["P7"], 8), "", same, "arc Fpz-T7-Oz: no section"},
		{"no head's shape", pose{func(v r3.Vec) r3.Vec {
			return r3.Vec{X: 0.7 * v.X, Y: 1.2 * v.Y,
				Z: 1.2 * v.Z}
		},
			all}, "", same, "nasion-inion arc 437.81 mm does not fit"},
	} {
		m, l := scanOf(t, e, 4, c.pose)
		_, err := New(m, c.change(l), c.unit)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %s", c.what, err, c.want)
		} else {
			t.Logf("%s: %v", c.what, err)
		}
	}
}

func TestScanWarnsOfLandmarksOffTheSurface(t *testing.T) {
	e := headtest.Measured(t)
	m, l := scanOf(t, e, 4, pose{unmoved, all})
	l.Inion = r3.Add(l.Inion, r3.Scale(3, e.Normal(l.Inion)))
	s := mustScan(t, m, l, "")
	if got := strings.Join(s.Warnings(), "; "); got != "landmark INI is 3.0 mm from the surface of the scan" {
		t.Errorf("warnings %q", got)
	}
	// The landmark is moved back to the surface.
	if d := headtest.Apart(s.Landmarks().Inion, e.Landmarks().Inion); d > 0.3 {
		t.Errorf("the inion is %.2f mm off", d)
	}
}

func BenchmarkScan(b *testing.B) {
	m, l := scanOf(b, headtest.Measured(b), 7, pose{turnedAway, all})
	vertices, triangles := m.Size()
	b.Logf("%d vertices, %d triangles", vertices, triangles)
	for b.Loop() {
		if _, err := layout.Place(mustScan(b, m, l, ""), layout.Set1005()); err != nil {
			b.Fatal(err)
		}
	}
}
