package digitised_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/digitised"
	"calotte/layout/head"
	"calotte/layout/internal/headtest"
)

// standingOff are the points of a cap on a head of 92 mm, its electrodes
// touched some mm above the scalp.
func standingOff(t *testing.T, mm float64) []layout.Site {
	points, truth := headtest.Digitised(t, head.Sphere(92))
	for i, p := range truth {
		points[3+i].Position = r3.Add(points[3+i].Position, r3.Scale(mm, r3.Unit(p.Position)))
	}
	return points
}

// Electrodes that stand off the scalp make no head too large: it is judged
// without their height, and warned of up to what is impossible.
func TestDigitisedSize(t *testing.T) {
	for _, c := range []struct {
		mm, tip float64
		around  float64
		want    string // among the warnings; empty: none of them
		refused bool
	}{
		{20, 0, 703.7, "a head of 704 mm circumference, and heads have up to 700 mm", false},
		{20, 20, 578.1, "", false},
		{40, 0, 0, "a head of 829 mm circumference: expected 300 to 700 mm", true},
		{40, 25, 672.3, "", false},
	} {
		d, err := digitised.Digitise(digitised.Points{Sites: standingOff(t, c.mm)},
			digitised.Coordinates{System: "CTF", Units: "mm"}, digitised.Options{TipOffset: c.tip})
		if c.refused {
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%g mm off: %v, want %q", c.mm, err, c.want)
			}
			continue
		}
		said := strings.Join(d.Warnings, "\n")
		if err != nil || math.Abs(2*math.Pi*d.Radius-c.around) > .1 ||
			strings.Contains(said, "circumference") != (c.want != "") || !strings.Contains(said, c.want) {
			t.Errorf("%g mm off, tip %g: %g mm, %q, %v", c.mm, c.tip, 2*math.Pi*d.Radius, d.Warnings, err)
		}
	}
}

// Points that were hardly touched by the pen do not move the head.
func TestDigitisedStrays(t *testing.T) {
	points := standingOff(t, 0)
	strays := slices.Clone(points)
	for _, i := range []int{10, 30, 50} {
		strays[i].Position = r3.Scale(1.4, strays[i].Position)
	}
	read := func(sites []layout.Site) digitised.Layout {
		d, err := digitised.Digitise(digitised.Points{Sites: sites},
			digitised.Coordinates{System: "CTF", Units: "mm"}, digitised.Options{})
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	clean, spoilt := read(points), read(strays)
	if spoilt.Fitted != clean.Fitted-3 || math.Abs(spoilt.Radius-clean.Radius) > 1e-6 ||
		headtest.Apart(spoilt.Sites[0].Position, clean.Sites[0].Position) > 1e-6 {
		t.Errorf("fitted to %d of %d, radius %g and %g", spoilt.Fitted, clean.Fitted, spoilt.Radius,
			clean.Radius)
	}
	if n := strings.Count(strings.Join(spoilt.Warnings, "\n"), "digitise it again"); n != 3 {
		t.Errorf("%d of 3 strays are named: %q", n, spoilt.Warnings)
	}
}

// The open data's cap, its electrodes raised by as much as makes it no head's.
func TestPublishedSize(t *testing.T) {
	points, c := published(t)
	d, err := digitised.Digitise(points, c, digitised.Options{})
	if err != nil {
		t.Fatal(err)
	}
	off := 703/(2*math.Pi) - d.Radius
	var centre r3.Vec // of the cap in the file's metres: its axes are those of the landmarks but for a tilt
	for i, p := range points.Sites {
		from := r3.Sub(p.Position, r3.Scale(1e-3, d.Sites[i].Position))
		centre = r3.Add(centre, r3.Scale(1/float64(len(d.Sites)), from))
	}
	raised := digitised.Points{Sites: slices.Clone(points.Sites)}
	for i, s := range raised.Sites {
		out := r3.Unit(r3.Sub(s.Position, centre))
		raised.Sites[i].Position = r3.Add(s.Position, r3.Scale(off/1e3, out))
	}
	for tip, want := range map[float64]float64{0: 703, 15: 703 - 15*2*math.Pi} {
		d, err := digitised.Digitise(raised, c, digitised.Options{TipOffset: tip})
		if err != nil || math.Abs(2*math.Pi*d.Radius-want) > 2 {
			t.Errorf("tip %g: %g mm around, want %g, %v", tip, 2*math.Pi*d.Radius, want, err)
		}
	}
}
