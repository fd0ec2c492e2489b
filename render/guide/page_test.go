package guide

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/canvas"
	"calotte/topo/provenance"
)

// heads from a small child's to the largest, with the proportions of an average
// head, one far from them, one without arcs, and one with unequal halves.
var heads = []head.Head{
	{Wearer: "P01", Circumference: 480, NasionInion: 310, EarEar: 298},
	someHead,
	{Wearer: "P02", Circumference: 640, NasionInion: 412, EarEar: 398},
	{Wearer: "P03", Circumference: 590, NasionInion: 345, EarEar: 380},
	{Wearer: "P04", Circumference: 560},
	{Wearer: "P05", Circumference: 560, NasionInion: 365, EarEar: 340,
		Halves: head.Halves{LeftRing: 284, RightRing: 276, LeftEar: 172, RightEar: 168}},
	{Wearer: "a-long-code-but-not-a-name-00001", Circumference: 560, NasionInion: 365, EarEar: 340},
}

func TestPagesHoldTogether(t *testing.T) {
	sets := []struct {
		name  string
		sites []layout.Name
	}{{"10-20", layout.Set1020()}, {"10-10", layout.Set1010()}, {"few", []layout.Name{"P8", "Fp1", "FC3", "Oz"}}}
	options := []Options{
		{},
		{Posture: Lying, Stand: Front, Bar: 98.4, Ground: "AFz", Reference: "both mastoids, linked"},
		{Posture: Headrest, Bar: 101.2, Date: "2026-03-09", Initials: "mm", Caps: []Cap{{"blue", 520, 700}}},
	}
	for i, h := range heads {
		for k, set := range sets {
			if k == 2 && i%3 > 0 {
				continue
			}
			for _, paper := range []Paper{A4, Letter} {
				o := options[(i+k+int(paper))%len(options)]
				o.Sites, o.Paper = set.sites, paper
				t.Run(fmt.Sprintf("%s/%s/%v", h.Wearer, set.name, paper), func(t *testing.T) {
					checkPages(t, pages(t, h, o))
				})
			}
		}
	}
	for _, paper := range []Paper{A4, Letter} {
		checkPages(t, blank(t, Options{Paper: paper}))
	}
}

// checkPages finds text that leaves the page or touches other text, on the ink
// that is really drawn.
func checkPages(t *testing.T, figures []canvas.Figure) {
	t.Helper()
	for i, f := range figures {
		boxes, err := canvas.Boxes(f)
		if err != nil {
			t.Fatal(err)
		}
		width, height := f.Size()
		strips := strings.Contains(f.Title(), "strips")
		var texts []canvas.Box
		for _, b := range boxes {
			if !b.Within(width, height) {
				t.Errorf("page %d, %s: %v %q leaves the page: %v", i+1, f.Title(), b.Kind, b.Text,
					b.Rect)
			}
			if b.Kind == canvas.Text {
				texts = append(texts, b)
			}
		}
		for j, a := range texts {
			for _, b := range texts[:j] {
				// Boxes are upright; on curved strips the type
				// is not, and clash has looked.
				if a.Overlaps(b) && !strips {
					t.Errorf("page %d, %s: %q and %q overlap", i+1, f.Title(), a.Text, b.Text)
				}
			}
		}
	}
}

// No type is smaller than 9 points, distances have 28, steps 14, and boxes
// their sizes.
func TestSizes(t *testing.T) {
	for _, bar := range []float64{100, 103.5} {
		o := Options{}
		o.Bar.Set(fmt.Sprintf("%gmm", bar))
		all := append(pages(t, someHead, o), blank(t, o)...)
		sizes := map[float64]int{}
		for _, f := range all {
			p := f.(*page)
			for _, i := range p.items {
				w, ok := i.(words)
				if !ok {
					continue
				}
				// A corrected page is printed larger or smaller
				// by the printer.
				if w.size < leastSize {
					t.Errorf("%q is set in %g points", w.text, w.size)
				}
				sizes[w.size]++
			}
		}
		if sizes[28] < 40 || sizes[14] < 20 {
			t.Errorf("%d texts in 28 points, %d in 14", sizes[28], sizes[14])
		}
	}
	if tickSize != 8 || writeWidth != 25 || writeHeight != 12 {
		t.Error("the boxes have other sizes")
	}
}

func TestPagesRepeatTheirBytes(t *testing.T) {
	var first, second bytes.Buffer
	for _, b := range []*bytes.Buffer{&first, &second} {
		if err := canvas.WriteDocument(b, pages(t, someHead, Options{}), canvas.PDF,
			provenance.Record{}); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(first.Bytes(), second.Bytes()) {
		t.Error("another run gave other bytes")
	}
}

func TestPagesRefuse(t *testing.T) {
	for _, c := range []struct {
		name   string
		code   string
		change func(o *Options)
		want   string
	}{
		{"a bar far off", "P1", func(o *Options) { o.Bar = 93 },
			"the 100 mm bar measured 93mm: expected 94 to 106"},
		{"a cap upside down", "P1", func(o *Options) { o.Caps = []Cap{{"M", 580, 540}} },
			`cap size "M" runs from 580mm to 540mm`},
		{"unknown paper", "P1", func(o *Options) { o.Paper = 7 }, "paper 7 is unknown"},
		{"a date that is none", "P1", func(o *Options) { o.Date = "2026-02-30" },
			`date is "2026-02-30": expected year-month-day as in 2026-03-09`},
		{"a date of words", "P1", func(o *Options) { o.Date = "yesterday" }, `date is "yesterday"`},
		{"a site twice", "P1", func(o *Options) { o.Sites = []layout.Name{"F3", "F3"} },
			`site "F3" is given twice`},
		{"an earlobe", "P1", func(o *Options) { o.Sites = []layout.Name{"A1"} }, `earlobe "A1"`},
		{"the 10-5 system", "P1", func(o *Options) { o.Sites = layout.Set1005() },
			"345 sites: a guide has room for 99"},
		{"an endless code", strings.Repeat("x", 90), func(o *Options) {}, "shorten it"},
	} {
		o := Options{}
		c.change(&o)
		h := someHead
		h.Wearer = c.code
		_, err := Pages(surface(t, h), h.Visit(), o)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want an error with %q", c.name, err, c.want)
		}
	}
}

func TestChoices(t *testing.T) {
	var p Paper
	var s Stand
	var h Posture
	if p.Set("letter") != nil || p != Letter || s.Set(" Front") != nil || s != Front || h.Set("headrest") != nil ||
		h != Headrest {
		t.Errorf("read %v, %v, %v", p, s, h)
	}
	if err := p.Set("A5"); err == nil || err.Error() != `unknown paper "A5": expected A4 or Letter` {
		t.Error(err)
	}
	if got := Posture(9).String(); got != "unknown (9)" {
		t.Error(got)
	}
}

func BenchmarkPages(b *testing.B) {
	for b.Loop() {
		pages(b, someHead, Options{Sites: layout.Set1010()})
	}
}

func BenchmarkDocument(b *testing.B) {
	figures := pages(b, someHead, Options{})
	for b.Loop() {
		var w bytes.Buffer
		if err := canvas.WriteDocument(&w, figures, canvas.PDF, provenance.Record{}); err != nil {
			b.Fatal(err)
		}
	}
}

// A box's rectangle is that of its stroke's middle line.
func TestBoxesOnPaper(t *testing.T) {
	p := newPage(A4, 1, "")
	p.tick(20, 30)
	p.write(50, 30)
	boxes, err := canvas.Boxes(p)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range [][2]float64{{8, 8}, {25, 12}} {
		size := boxes[i].Rect.Size()
		w, h := float64((size.X-firm)/vg.Millimeter), float64((size.Y-firm)/vg.Millimeter)
		if w-want[0] > .01 || want[0]-w > .01 || h-want[1] > .01 || want[1]-h > .01 {
			t.Errorf("box %d is %.2f × %.2f mm, want %v", i, w, h, want)
		}
	}
}
