package scalp

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot/vg"

	"calotte/render/internal/figtest"
	"calotte/render/paper"
	"calotte/topo"
)

// The colours in the file are those of the spline's values.
func TestPixelsShowTheSpline(t *testing.T) {
	s := demoSheet(t, figtest.SixtyFour, 1, 2)
	s.Width = 114 * vg.Millimeter
	p := compose(t, s)
	img := figtest.Decode(t, figtest.PNG(t, p))
	c, err := s.Rows[0].Spline.Solve(s.Rows[0].Values)
	if err != nil {
		t.Fatal(err)
	}
	// Places between electrodes and lines: the middles of the triangles
	// that neighbouring sites form.
	checked := 0
	for i := range 400 {
		angle, radius := float64(i)*2.4, .04*math.Sqrt(float64(i))
		spot := r2.Vec{X: radius * math.Cos(angle), Y: radius * math.Sin(angle)}
		for column, m := range p.panels {
			want := s.Rows[0].Spline.Interpolate([]r3.Vec{OnDisc.Direction(spot)}, topo.Potential, c).At(0,
				column)
			if !clearOfLines(p, m, spot, want) {
				continue
			}
			at := m.frame.point(spot)
			x, y := int(at.X/paper.Pixel), int(-at.Y/paper.Pixel)
			// Within a picture element the value changes a little.
			got, colour := img.At(x, y), testTable.At(want/p.Scales[0].Limit)
			r, g, b, _ := got.RGBA()
			if d := max(diff(r, colour.R), diff(g, colour.G), diff(b, colour.B)); d > 4 {
				t.Errorf("map %d at %.3f: %v, want %v for %.3f µV", column, spot, got, colour, want)
			}
			checked++
		}
	}
	if checked < 100 {
		t.Errorf("only %d places are free of lines", checked)
	}
}

func diff(wide uint32, narrow uint8) int {
	d := int(wide>>8) - int(narrow)
	return max(d, -d)
}

// clearOfLines keeps away from contours, graticule, hatching and marks.
func clearOfLines(p *Plate, m *panel, spot r2.Vec, value float64) bool {
	const apart = 4 * paper.Pixel
	at := m.frame.point(spot)
	for _, site := range p.sheet.Rows[m.row].Marks {
		d := m.frame.Project(site.Site.Position).Sub(at)
		if math.Hypot(float64(d.X), float64(d.Y)) < 3 {
			return false
		}
	}
	margin := float64(apart / m.frame.Right)
	nearTick := math.Abs(math.Remainder(value, p.Scales[0].Step)) < .15*p.Scales[0].Step
	return !nearTick && math.Abs(spot.X) > margin && math.Abs(spot.Y) > margin &&
		math.Abs(r2.Norm(spot)-.8) > margin && r2.Norm(spot) < .78
}

// A field that is the same on both sides gives a picture that is, too.
func TestSymmetricFieldGivesSymmetricPicture(t *testing.T) {
	s := demoSheet(t, figtest.SixtyFour, 1, 1)
	v := mat.NewDense(64, 1, nil)
	for i, m := range s.Rows[0].Marks {
		p := r3.Unit(m.Site.Position)
		v.Set(i, 0, 9+5*p.Y*p.Z-3*p.X*p.X) // positive: dashes have a direction
	}
	s.Rows[0].Values = v
	s.Width = 85 * vg.Millimeter
	p := compose(t, s)
	img := figtest.Decode(t, figtest.PNG(t, p))
	m := p.panels[0].frame
	middle := int(math.Round(float64(m.Center.X / paper.Pixel)))
	top, bottom := int(-(m.Center.Y+m.Front*1.1)/paper.Pixel), int(-(m.Center.Y-m.Front)/paper.Pixel)
	half := int(m.Right/paper.Pixel) - 6 // a dash or a mark on the edge may differ
	unlike := 0
	for y := top; y < bottom; y++ {
		for i := range half {
			a, b := img.At(middle+i, y), img.At(middle-1-i, y)
			ar, ag, ab, _ := a.RGBA()
			br, bg, bb, _ := b.RGBA()
			if max(diff(ar, uint8(br>>8)), diff(ag, uint8(bg>>8)), diff(ab, uint8(bb>>8))) > 24 {
				unlike++
			}
		}
	}
	if share := float64(unlike) / float64(half*(bottom-top)); share > .002 {
		t.Errorf("%.3f %% of the picture is not symmetric", 100*share)
	}
}
