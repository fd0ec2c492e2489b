package canvas

import (
	"image"
	"image/color"
	"math"
	"testing"

	"gonum.org/v1/plot/vg"
)

// broken is a path of straight pieces.
func broken(points ...vg.Point) (p vg.Path) {
	p.Move(points[0])
	for _, q := range points[1:] {
		p.Line(q)
	}
	return p
}

// fine is ten pixels to the point.
const fine = 720

// along reads the pixels under the middle of each point of length of a line:
// ink, paper, or a mixture.
func along(img *image.RGBA, p vg.Path) string {
	var read []byte
	for i := 1; i < len(p); i++ {
		a, b := p[i-1].Pos, p[i].Pos
		if p[i].Type == vg.CloseComp {
			b = p[0].Pos
		}
		n := int(math.Hypot(float64(b.X-a.X), float64(b.Y-a.Y)))
		for k := range n {
			at := a.Add(b.Sub(a).Scale((vg.Length(k) + 0.5) / vg.Length(n)))
			switch img.RGBAAt(int(10*at.X), img.Rect.Dy()-1-int(10*at.Y)).R {
			case 0:
				read = append(read, '#')
			case 255:
				read = append(read, '.')
			default:
				read = append(read, '?')
			}
		}
	}
	return string(read)
}

func TestDashes(t *testing.T) {
	straight := broken(at(10, 30), at(20, 30))
	bent := broken(at(10, 30), at(20, 30), at(20, 20))
	square := append(broken(at(10, 10), at(18, 10), at(18, 18), at(10, 18)), vg.PathComp{Type: vg.CloseComp})
	for _, row := range []struct {
		name    string
		line    vg.Path
		pattern []vg.Length
		offset  vg.Length
		want    string
	}{
		{"none", straight, nil, 0, "##########"},
		{"even", straight, []vg.Length{4, 2}, 0, "####..####"},
		{"one counts twice", straight, []vg.Length{3}, 0, "###...###."},
		{"three count twice", straight, []vg.Length{3, 1, 2}, 0, "###.##...#"},
		{"offset", straight, []vg.Length{4, 2}, 5, ".####..###"},
		{"offset backwards", straight, []vg.Length{4, 2}, -1, ".####..###"},
		{"round a corner", bent, []vg.Length{4, 13}, 0, "####......" + ".......###"},
		{"closed", square, []vg.Length{8, 8}, 0, "########" + "........" + "########" + "........"},
	} {
		img := drawn(t, sketch{40, 40, "", func(c Canvas) {
			c.SetLineWidth(0.5)
			c.SetLineDash(row.pattern, row.offset)
			c.Stroke(row.line)
		}}, fine)
		if got := along(img, row.line); got != row.want {
			t.Errorf("%s: %s, want %s", row.name, got, row.want)
		}
	}
}

// Each part of a path begins at the offset, not only the first.
func TestDashesOfEachPart(t *testing.T) {
	img := drawn(t, sketch{40, 40, "", func(c Canvas) {
		c.SetLineWidth(0.5)
		c.SetLineDash([]vg.Length{4, 2}, 3)
		c.Stroke(append(broken(at(10, 30), at(20, 30)), broken(at(10, 20), at(20, 20))...))
	}}, fine)
	for _, y := range []float64{30, 20} {
		if got, want := along(img, broken(at(10, y), at(20, y))), "#..####..#"; got != want {
			t.Errorf("the line at %v: %s, want %s", y, got, want)
		}
	}
}

// A curve of pieces far shorter than a pixel is drawn whole. Its corners are
// where the 64ths of a pixel put them, and their joins make it a little wider.
func TestFinePieces(t *testing.T) {
	const n = 20000
	var p vg.Path
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
		if q := at(36+20*cos, 36+20*sin); i == 0 {
			p.Move(q)
		} else {
			p.Line(q)
		}
	}
	p.Close()
	for _, dash := range [][]vg.Length{nil, {math.Pi, math.Pi}} {
		want := 2 * math.Pi * 20 * 2.0
		if dash != nil {
			want /= 2
		}
		got := dark(drawn(t, sketch{72, 72, "", func(c Canvas) {
			c.SetLineWidth(2)
			c.SetLineDash(dash, 0)
			c.Stroke(p)
		}}, 300), 300)
		if math.Abs(got-want) > 0.05*want {
			t.Errorf("dashes %v: %.2f pt² are inked, want %.2f", dash, got, want)
		}
	}
}

// Half-transparent ink keeps its tone where the parts of a line cross.
func TestCrossingPartsShareTheirInk(t *testing.T) {
	img := drawn(t, sketch{40, 40, "", func(c Canvas) {
		c.SetColor(color.NRGBA{A: 128})
		c.SetLineWidth(4)
		c.Stroke(append(broken(at(4, 20), at(36, 20)), broken(at(20, 4), at(20, 36))...))
	}}, 72)
	if crossing, arm := img.RGBAAt(20, 20), img.RGBAAt(8, 20); crossing != arm {
		t.Errorf("%v at the crossing, %v beside it", crossing, arm)
	}
}

// What a clip leaves lies on the page where it would without the clip.
func TestWindowsLieOnThePage(t *testing.T) {
	scene := func(clipped bool) *image.RGBA {
		return drawn(t, sketch{72, 72, "", func(c Canvas) {
			c.Push()
			if clipped {
				c.Clip(rectangle(12, 12, 60, 60))
				c.Clip(rectangle(24, 6, 66, 48))
			}
			c.Fill(circle(30, 30, 17.3))
			c.SetColor(color.NRGBA{R: 200, A: 120})
			c.SetLineWidth(1.7)
			c.Stroke(circle(40, 40, 13.1))
			c.FillString(Sans(9, false), at(20, 33), "window")
			exact, size := c.Pixels(vg.Rectangle{Min: at(30, 20), Max: at(70, 40)})
			c.DrawImage(exact, gradient(size.X, size.Y))
			c.Pop()
		}}, 144)
	}
	whole, part := scene(false), scene(true)
	inside := image.Rect(2*24, 2*(72-48), 2*60, 2*(72-12))
	for y := range 144 {
		for x := range 144 {
			want := color.RGBA{255, 255, 255, 255}
			if image.Pt(x, y).In(inside) {
				want = whole.RGBAAt(x, y)
			}
			if got := part.RGBAAt(x, y); difference(got, want) > 1 {
				t.Fatalf("pixel %d, %d is %v, want %v", x, y, got, want)
			}
		}
	}
}
