package guide

import (
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/canvas"
)

// Sheet 2 has every pair, the tap test too, on either paper and with more words
// than the English.
func TestChecksKeepEveryPair(t *testing.T) {
	english, err := English()
	if err != nil {
		t.Fatal(err)
	}
	long := *english
	long.Sheet2.Intro = strings.Repeat(long.Sheet2.Intro+" ", 20)
	for _, paper := range []Paper{A4, Letter} {
		for _, text := range []*Text{english, &long} {
			figures := pages(t, someHead, Options{Paper: paper, Text: text, NoStrips: true})
			checkPages(t, figures)
			var sheet []string
			for _, f := range figures {
				if strings.HasPrefix(f.Title(), "Checks") {
					sheet = append(sheet, said(t, []canvas.Figure{f})...)
				}
			}
			for _, want := range []string{"LPA–Cz", "LPA–T7", "Fpz–F7", "Oz–P7", "Cz–C3", "Fz–F3", "Pz–P3",
				"Pz–P4",
				"Plugs: the tap test"} {
				if !slices.Contains(sheet, want) {
					t.Errorf("%v: %q is missing", paper, want)
				}
			}
		}
	}
}

// Every strip has the arrow's word.
func TestEveryStripNamesTheNose(t *testing.T) {
	for _, h := range heads[1:3] {
		nose, strips := 0, 0
		for _, f := range pages(t, h, Options{Sites: layout.Set1010()}) {
			for _, title := range groupTitles(f) {
				if title == "nose" {
					strips++
				}
			}
			for _, text := range said(t, []canvas.Figure{f}) {
				if text == "nose" {
					nose++
				}
			}
		}
		if strips == 0 || nose != strips {
			t.Errorf("%s: %d pieces of strips, %d have the word", h.Wearer, strips, nose)
		}
	}
}

// The type along a curved strip is spaced as on a straight one, to 0.4 mm.
func TestTypeAlongCurvedStrips(t *testing.T) {
	p := planOf(t, someHead, Options{Sites: layout.Set1010()})
	strips, err := p.curvedStrips()
	if err != nil {
		t.Fatal(err)
	}
	b, err := newBook(&Options{}, "P014")
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range strips {
		for _, piece := range s.pieces(195, stripWidth) {
			on := newPage(A4, 1, "")
			piece.along(on, piece.arc, b.code)
			for i := range len(on.items) - 1 {
				a, z := on.items[i].(words), on.items[i+1].(words)
				apart := r2.Vec{X: float64(z.at.X-a.at.X) / 72 * 25.4,
					Y: float64(z.at.Y-a.at.Y) / 72 * 25.4}
				if gap := r2.Norm(apart) - small.width(a.text); math.Abs(gap) > .4 {
					t.Errorf("%s: %.2f mm between %q and %q", s.arc, gap, a.text, z.text)
				}
			}
		}
	}
}

// In the list the sites that are felt, not measured, go by their landmarks.
func TestEarPointsInTheList(t *testing.T) {
	all := said(t, pages(t, someHead, Options{Sites: layout.Set1010()}))
	n := 0
	for i, text := range all {
		if text == "ear point" && (all[i-1] == "T9" || all[i-1] == "T10") {
			n++
		}
	}
	if n != 2 {
		t.Errorf("%d of T9 and T10 are named as ear points", n)
	}
}

// The blank sheet has a box for every answer that the measures ask for: two
// readings of three tapes, with half and tenth of two, the widest, four halves.
func TestBlankBoxes(t *testing.T) {
	for _, paper := range []Paper{A4, Letter} {
		boxes := 0
		first := blank(t, Options{Paper: paper})[0].(*page)
		for _, place := range first.taken {
			if place.text == "" && math.Abs(place.corners[1].X-place.corners[0].X-writeWidth) < 1e-9 {
				boxes++
			}
		}
		if want := 2*3 + 2*2 + 1 + 4; boxes != want {
			t.Errorf("%v: %d boxes to write in, want %d", paper, boxes, want)
		}
	}
}

// On a sphere of 560 mm both ear points, below the ring, are a quarter of it
// from Fpz and from Oz.
func TestEarsToFrontAndBack(t *testing.T) {
	p := planOf(t, head.Head{Circumference: 560}, Options{})
	b, err := newBook(&Options{}, "")
	if err != nil {
		t.Fatal(err)
	}
	for _, site := range []layout.Name{"Fpz", "Oz"} {
		parts, err := b.earsTo(p, site)
		if err != nil || len(parts) != 2 {
			t.Fatal(parts, err)
		}
		for _, part := range parts {
			if math.Abs(part.distance-140) > 1e-6 {
				t.Errorf("%s to %s: %g mm, want 140", part.label, site, part.distance)
			}
		}
	}
}
