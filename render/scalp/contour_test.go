package scalp

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"

	"calotte/layout/hostile"
)

// sampled is the field of a function of the disc.
func sampled(f func(p r2.Vec) float64) *Field {
	g := newGrid(OnDisc, fewCells)
	values := make([]float64, len(g.Nodes))
	for i, node := range g.Nodes {
		values[i] = f(g.Point(node))
	}
	return g.Field(values)
}

func length(l Line) float64 {
	var sum float64
	for i := 1; i < len(l.Points); i++ {
		sum += r2.Norm(r2.Sub(l.Points[i], l.Points[i-1]))
	}
	if l.Closed {
		sum += r2.Norm(r2.Sub(l.Points[0], l.Points[len(l.Points)-1]))
	}
	return sum
}

func TestContoursOfKnownShapes(t *testing.T) {
	chord := 2 * math.Sqrt(1-.09)
	for _, c := range []struct {
		name    string
		f       func(p r2.Vec) float64
		level   float64
		lengths []float64
		closed  bool
	}{
		{"circle", r2.Norm2, .25, []float64{math.Pi}, true},
		{"chord", func(p r2.Vec) float64 { return p.X }, .3, []float64{chord}, false},
		{"chord through nodes", func(p r2.Vec) float64 { return p.Y }, 0, []float64{2}, false},
		{"two chords", func(p r2.Vec) float64 { return p.X * p.X }, .09, []float64{chord, chord}, false},
		{"outside", r2.Norm2, 1.02, nil, false},
		{"flat", func(r2.Vec) float64 { return 1 }, 1, nil, false},
		{"circle cut by the edge", func(p r2.Vec) float64 { return r2.Norm(r2.Sub(p, r2.Vec{X: 1})) }, .5,
			[]float64{math.Acos(.25)}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			lines := sampled(c.f).Contours([]float64{c.level}, 2, 1e-9)[0]
			if len(lines) != len(c.lengths) {
				t.Fatalf("%d lines, want %d", len(lines), len(c.lengths))
			}
			for i, l := range lines {
				if got := length(l); math.Abs(got-c.lengths[i]) > 1e-3 {
					t.Errorf("line %d is %.5f long, want %.5f", i, got, c.lengths[i])
				}
				if l.Closed != c.closed {
					t.Errorf("line %d: closed is %t", i, l.Closed)
				}
			}
		})
	}
}

// Both levels beside a saddle join the pair of arms that they must.
func TestContoursAtSaddle(t *testing.T) {
	// The saddle lies between nodes of the refined lattice.
	middle := r2.Vec{X: 1. / 241, Y: 1. / 331}
	f := sampled(func(p r2.Vec) float64 { p = r2.Sub(p, middle); return p.X * p.Y })
	for _, c := range []struct{ level, sign float64 }{{1e-5, 1}, {-1e-5, -1}} {
		lines := f.Contours([]float64{c.level}, 2, 1e-12)[0]
		if len(lines) != 2 {
			t.Fatalf("level %g: %d lines, want 2", c.level, len(lines))
		}
		for _, l := range lines {
			for _, p := range l.Points {
				p = r2.Sub(p, middle)
				if p.X*p.Y*c.sign < 0 {
					t.Errorf("level %g passes through %v, where the field has the other sign",
						c.level,
						p)
				}
			}
		}
	}
}

// checkLines holds what is true of the contours of any field.
func checkLines(t interface{ Errorf(string, ...any) }, f *Field, level, tolerance float64, lines []Line) {
	for i, l := range lines {
		for k, p := range l.Points {
			end := !l.Closed && (k == 0 || k == len(l.Points)-1)
			radius := r2.Norm(p)
			switch {
			case end && math.Abs(radius-1) > 1e-9:
				t.Errorf("line %d ends at radius %v, not on the edge", i, radius)
			case radius > 1+1e-9:
				t.Errorf("line %d leaves the disc: radius %v", i, radius)
			case !end && math.Abs(f.At(p)-level) > tolerance:
				t.Errorf("line %d passes %v where the field is %g off the level", i, p, f.At(p)-level)
			}
		}
	}
}

// A field as rough as white noise on 64 sites: its lines lie within 1 % of the
// range everywhere, between their vertices too.
func TestContoursLieAtTheirLevel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := sampled(randomWaves(t, 9))
		levels := []float64{-.8, -.4, 0, .4, .8}
		for i, lines := range f.Contours(levels, 2, 1e-4) {
			checkLines(t, f, levels[i], 1e-4, lines)
			for _, l := range lines {
				for k := 1; k < len(l.Points); k++ {
					middle := r2.Scale(.5, r2.Add(l.Points[k-1], l.Points[k]))
					if d := math.Abs(f.At(middle) - levels[i]); d > .02 {
						t.Errorf("between vertices the field is %g off the level", d)
					}
				}
			}
		}
	})
}

// randomWaves is a sum of waves whose half length is at least 1/most of the
// disc's diameter, between -1 and 1.
func randomWaves(t *rapid.T, most float64) func(r2.Vec) float64 {
	type wave struct{ kx, ky, phase, size float64 }
	waves := make([]wave, 4)
	var total float64
	for i := range waves {
		k := math.Pi / 2 * rapid.Float64Range(.5, most).Draw(t, "waves")
		sin, cos := math.Sincos(rapid.Float64Range(0, math.Pi).Draw(t, "direction"))
		waves[i] = wave{k * cos, k * sin, rapid.Float64Range(0, 6).Draw(t, "phase"),
			rapid.Float64Range(.2, 1).Draw(t, "size")}
		total += waves[i].size
	}
	return func(p r2.Vec) float64 {
		var sum float64
		for _, w := range waves {
			sum += w.size * math.Sin(w.kx*p.X+w.ky*p.Y+w.phase)
		}
		return sum / total
	}
}

// FuzzContours draws lines through fields without any smoothness.
func FuzzContours(f *testing.F) {
	f.Add([]byte{0, 255, 128}, byte(128))
	f.Add([]byte{0, 255, 0, 0, 255}, byte(127))
	f.Add([]byte{1}, byte(1))
	f.Add([]byte{3, 3, 3, 9, 9, 200, 7}, byte(9))
	g := newGrid(OnDisc, fewCells)
	f.Fuzz(func(t *testing.T, pattern []byte, level byte) {
		defer hostile.Budget(t, len(pattern))()
		if len(pattern) == 0 {
			return
		}
		values := make([]float64, len(g.Nodes))
		for i := range values {
			values[i] = float64(pattern[i%len(pattern)])
		}
		field := g.Field(values)
		const tolerance = 1e-6
		lines := field.Contours([]float64{float64(level)}, 2, tolerance)[0]
		checkLines(t, field, float64(level), 2*tolerance, lines)
	})
}

func BenchmarkContours(b *testing.B) {
	f := sampled(func(p r2.Vec) float64 { return math.Sin(5*p.X+1) * math.Cos(6*p.Y) })
	levels := []float64{-.8, -.6, -.4, -.2, 0, .2, .4, .6, .8}
	for b.Loop() {
		f.Contours(levels, 2, 1e-4)
	}
}

// Each line knows on which side the higher values are, also where it begins in
// a saddle.
func TestContoursKnowTheirHigherSide(t *testing.T) {
	f := sampled(func(p r2.Vec) float64 { return math.Sin(37*p.X+.3) * math.Cos(41*p.Y+.1) })
	for _, level := range []float64{-.02, 0, .02} {
		lines := f.trace([]float64{level}, 1, 1e-9)[0]
		if len(lines) < 50 {
			t.Errorf("level %g: only %d lines", level, len(lines))
		}
		for i, l := range lines {
			higherLeft := 0.
			for k := 1; k < len(l.Points); k++ {
				p, q := l.Points[k-1], l.Points[k]
				d := r2.Sub(q, p)
				middle := r2.Scale(.5, r2.Add(p, q))
				left := r2.Scale(.1, r2.Vec{X: -d.Y, Y: d.X})
				higherLeft += f.At(r2.Add(middle, left)) - f.At(r2.Sub(middle, left))
			}
			if higherLeft > 0 != l.upperLeft {
				t.Errorf("level %g, line %d of %d points: the left is higher by %g, the line says %t",
					level,
					i,
					len(l.Points), higherLeft, l.upperLeft)
			}
		}
	}
}
