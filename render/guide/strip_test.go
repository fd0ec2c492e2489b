package guide

import (
	"bytes"
	"image"
	"image/png"
	"math"
	"slices"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/canvas"
)

// Every mark of every strip lies at the distance that the rules give, and every
// site of the set is on a strip.
func TestStripMarksOnPaper(t *testing.T) {
	worst := 0.
	for _, h := range []head.Head{heads[0], heads[2], heads[5]} {
		for _, bar := range []float64{100, 98.4} {
			o := Options{Sites: layout.Set1010(), Bar: 0}
			if bar != 100 {
				o.Bar.Set("98.4mm")
			}
			s := surface(t, h)
			want := map[string]float64{}
			placed, err := layout.Place(s, layout.Set1010())
			if err != nil {
				t.Fatal(err)
			}
			for _, p := range placed {
				want[p.Arc+p.Name] = p.Distance
			}
			begin, found := map[string]float64{}, map[string]bool{}
			for _, strip := range readStrips(t, pages(t, h, o)) {
				zero, beside := 0., 0.
				if strip.piece == 1 {
					zero, beside = along(strip.edge, strip.marks[strip.order[0]])
				}
				begins := begin[strip.arc]
				for _, name := range strip.order {
					at, off := along(strip.edge, strip.marks[name])
					got := begins + (at-zero)*bar/100
					beside = max(beside, off)
					w, ok := want[strip.arc+name]
					if !ok {
						continue // an end, or a site that another rule gives
					}
					found[name] = true
					worst = max(worst, math.Abs(got-w))
					if math.Abs(got-w) > .1 {
						t.Errorf("%s: %s on %s at %.3f mm, want %.3f", h.Wearer, name,
							strip.arc,
							got,
							w)
					}
				}
				if beside > .02 {
					t.Errorf("%s: a mark on %s is %.3f mm beside the edge", h.Wearer, strip.arc,
						beside)
				}
				if strip.joint != nil {
					at, _ := along(strip.edge, *strip.joint)
					begin[strip.arc] = begins + (at-zero)*bar/100
				}
			}
			for _, n := range layout.Set1010() {
				if !found[string(n)] && !isLandmark(n) {
					t.Errorf("%s: %s is on no strip", h.Wearer, n)
				}
			}
		}
	}
	t.Logf("marks are within %.4f mm", worst)
}

// A curved strip as printed is wrapped on the head, each millimetre of its edge
// along the head's straightest line and each turn as on the paper: it has to
// stay on the rule's arc.
func TestCurvedStripsLieOnTheArc(t *testing.T) {
	worst := 0.
	for _, h := range []head.Head{heads[0], heads[3]} { // the smallest, and the one farthest from a sphere
		e, err := h.Model()
		if err != nil {
			t.Fatal(err)
		}
		begin := map[string]float64{}
		for _, strip := range readStrips(t, pages(t, h, Options{Sites: layout.Set1010()})) {
			arc, err := ruleNamed(strip.arc).Section(e)
			if err != nil {
				t.Fatal(err)
			}
			zero := 0.
			if strip.piece == 1 {
				zero, _ = along(strip.edge, strip.marks[strip.order[0]])
			}
			end := zero + arc.Length() - begin[strip.arc]
			if strip.joint != nil {
				end, _ = along(strip.edge, *strip.joint)
			}
			if !slices.Contains(straightArcs, strip.arc) {
				off := wrapped(e, arc, strip.edge, zero, end, begin[strip.arc])
				worst = max(worst, off)
				if off > .5 {
					t.Errorf("%s: %s leaves the arc by %.3f mm", h.Wearer, strip.arc, off)
				}
			}
			begin[strip.arc] += end - zero
		}
	}
	t.Logf("curved strips stay within %.3f mm of their arcs", worst)
	if worst == 0 {
		t.Error("no curved strip was found")
	}
}

// wrapped lays the edge on the head with both its ends on the arc, as a
// technician does, and returns the largest distance between. The first try
// follows the arc's direction, in which the file's 0.01 pt leave some
// milliradians.
func wrapped(e head.Ellipsoid, arc layout.Arc, edge []r2.Vec, zero, end, begin float64) float64 {
	const trial = .005 // radians
	_, a := walked(e, arc, edge, zero, end, begin, 0)
	_, b := walked(e, arc, edge, zero, end, begin, trial)
	worst, _ := walked(e, arc, edge, zero, end, begin, -a*trial/(b-a))
	return worst
}

// walked walks along the edge from one way to another and returns the largest
// distance from the arc, which it joins at begin turned by an angle, and how
// far to the left of the arc it ends.
func walked(e head.Ellipsoid, arc layout.Arc, edge []r2.Vec, zero, end, begin, turned float64) (worst, left float64) {
	at := arc.At(begin / arc.Length())
	ahead := r3.Sub(arc.At((begin+.01)/arc.Length()), arc.At((begin-.01)/arc.Length()))
	up := func(p r3.Vec) r3.Vec {
		return r3.Unit(r3.Vec{X: p.X / (e.Right * e.Right), Y: p.Y / (e.Front * e.Front),
			Z: p.Z / (e.Up * e.Up)})
	}
	flat := func(p, v r3.Vec) r3.Vec { n := up(p); return r3.Unit(r3.Sub(v, r3.Scale(r3.Dot(n, v), n))) }
	ahead = flat(at, ahead)
	ahead = r3.Add(r3.Scale(math.Cos(turned), ahead), r3.Scale(math.Sin(turned), r3.Cross(up(at), ahead)))
	const step = .1
	heading := directionAt(edge, zero)
	for way := zero; way < end; way += step {
		// Down the page is along the strip; the page's right is its
		// left.
		next := directionAt(edge, way+step/2)
		turn := math.Remainder(next-heading, 2*math.Pi)
		heading = next
		sin, cos := math.Sincos(turn)
		ahead = r3.Add(r3.Scale(cos, ahead), r3.Scale(sin, r3.Cross(up(at), ahead)))
		// A step of the straightest line: half of it, the direction
		// there, the whole.
		middle := onto(e, r3.Add(at, r3.Scale(step/2, ahead)))
		at = onto(e, r3.Add(at, r3.Scale(step, flat(middle, ahead))))
		ahead = flat(at, ahead)
		want := arc.At((begin + way + step - zero) / arc.Length())
		worst = max(worst, r3.Norm(r3.Sub(at, want)))
		left = r3.Dot(r3.Sub(at, want), r3.Cross(up(at), ahead))
	}
	return worst, left
}

func onto(e head.Ellipsoid, p r3.Vec) r3.Vec {
	return r3.Scale(1/math.Sqrt(p.X*p.X/(e.Right*e.Right)+p.Y*p.Y/(e.Front*e.Front)+p.Z*p.Z/(e.Up*e.Up)), p)
}

// directionAt is the strip's heading at a way along its printed edge,
// counterclockwise as seen from outside, smooth between the edge's points.
func directionAt(edge []r2.Vec, way float64) float64 {
	i := 0
	for ; i < len(edge)-2; i++ {
		d := r2.Norm(r2.Sub(edge[i+1], edge[i]))
		if way < d {
			break
		}
		way -= d
	}
	angle := func(i int) float64 {
		i = min(max(i, 0), len(edge)-2)
		d := r2.Sub(edge[i+1], edge[i])
		return math.Atan2(d.X, d.Y)
	}
	t := way/r2.Norm(r2.Sub(edge[i+1], edge[i])) - .5
	a, b := angle(i), angle(i+1)
	if t < 0 {
		a, b, t = angle(i-1), angle(i), t+1
	}
	return a + t*math.Remainder(b-a, 2*math.Pi)
}

// On the sphere of 560 mm the rows are circles of these radii on paper
// (shared definitions, section 1: in-plane radius R·tan α).
func TestRadiiOnTheSphere(t *testing.T) {
	p := planOf(t, head.Head{Circumference: 560}, Options{Sites: layout.Set1010()})
	strips, err := p.curvedStrips()
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]float64{
		"AF7-AFz-AF8": 72.7, "PO7-POz-PO8": 72.7, "F7-Fz-F8": 125.3, "P7-Pz-P8": 125.3,
		"FT7-FCz-FT8": 275.3, "TP7-CPz-TP8": 275.3, "Nz-LPA-Iz": 215.2, "Nz-RPA-Iz": 215.2,
	}
	if len(strips) != len(want) {
		t.Errorf("%d strips, want %d", len(strips), len(want))
	}
	for _, s := range strips {
		turn := math.Abs(s.line.heading[len(s.line.heading)-1])
		if got := s.line.length / turn; math.Abs(got-want[s.arc]) > .06 {
			t.Errorf("%s has the radius %.2f mm, want %.1f", s.arc, got, want[s.arc])
		}
	}
}

// Marks keep clear of joints, and no piece is longer than the paper.
func TestPieces(t *testing.T) {
	for _, h := range heads {
		p := planOf(t, h, Options{Sites: layout.Set1010()})
		straight, err := p.straightStrips()
		if err != nil {
			t.Fatal(err)
		}
		curved, err := p.curvedStrips()
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range append(straight, curved...) {
			list := s.pieces(195, stripWidth)
			for i, piece := range list {
				if i > 0 && piece.start != list[i-1].end {
					t.Errorf("%s: piece %d starts at %g, the one before ends at %g", s.arc, i+1,
						piece.start,
						list[i-1].end)
				}
				for _, m := range s.marks {
					if i > 0 && math.Abs(m.distance-piece.start) < jointRoom-1e-9 {
						t.Errorf("%s: %s is %.1f mm from a joint", s.arc, m.name,
							m.distance-piece.start)
					}
				}
			}
			if high := tallest(list); high > 195 {
				t.Errorf("%s: a piece is %.0f mm high", s.arc, high)
			}
		}
	}
}

// The bars are measured on the picture, in pixels of 1/300 inch: the longest
// run of ink in any row, and in any column, of the paper's bar.
func TestBarsOnTheRaster(t *testing.T) {
	for _, c := range []struct{ printed, want float64 }{{100, 100}, {98.4, 100 * 100 / 98.4},
		{102.5, 100 * 100 / 102.5}} {
		o := Options{}
		if c.printed != 100 {
			o.Bar.Set(strconv.FormatFloat(c.printed, 'g', -1, 64) + "mm")
		}
		b, err := newBook(&o, "P1")
		if err != nil {
			t.Fatal(err)
		}
		on, _, _ := b.stripPage("bars")
		on.items = slices.DeleteFunc(on.items, func(i item) bool { _, ok := i.(words); return ok })
		img, err := png.Decode(bytes.NewReader(written(t, on, canvas.PNG)))
		if err != nil {
			t.Fatal(err)
		}
		left, bottom := int(on.left()/25.4*300), int((on.room()-barRow)/25.4*300)
		across := longestRun(img, image.Rect(left, bottom, img.Bounds().Dx(), int(on.room()/25.4*300)), 1, 0)
		down := longestRun(img, image.Rect(left, int((on.top()+headerHeight)/25.4*300), left+100, bottom), 0, 1)
		for name, got := range map[string]int{"across": across, "down": down} {
			if mm := float64(got) / 300 * 25.4; math.Abs(mm-c.want) > .15 {
				t.Errorf("the bar %s measures %.2f mm on the picture, want %.2f", name, mm, c.want)
			}
		}
		t.Logf("bars of %.2f mm: %.2f across, %.2f down", c.want, float64(across)/300*25.4,
			float64(down)/300*25.4)
	}
}

// longestRun is the longest stretch of dark pixels in a direction.
func longestRun(img image.Image, in image.Rectangle, dx, dy int) int {
	best := 0
	for y := in.Min.Y; y < in.Max.Y; y++ {
		for x := in.Min.X; x < in.Max.X; x++ {
			n := 0
			for q := image.Pt(x, y); q.In(img.Bounds()); q = q.Add(image.Pt(dx, dy)) {
				if r, _, _, _ := img.At(q.X, q.Y).RGBA(); r > 0x8000 {
					break
				}
				n++
			}
			best = max(best, n)
			if dx == 1 {
				x += n
			}
		}
	}
	return best
}
