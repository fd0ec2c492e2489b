package cap

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"

	"calotte/layout/capcheck"
	"calotte/layout/head"
	"calotte/render/canvas"
	"calotte/render/paper"
)

// checkCapPage demands that all is on the page, that no text touches another,
// that texts outside the head keep out of it, and that arrows touch neither
// text nor head nor marks.
func checkCapPage(t *testing.T, p *Plate) {
	t.Helper()
	boxes, err := canvas.Boxes(p)
	if err != nil {
		t.Fatal(err)
	}
	width, height := p.Size()
	var texts, moves []canvas.Box
	for _, b := range boxes {
		if !b.Within(width, height) {
			t.Errorf("%v %q of %q leaves the page of %.1f × %.1f: %v", b.Kind, b.Text, b.Group, width,
				height,
				b.Rect)
		}
		switch {
		case b.Kind == canvas.Text:
			texts = append(texts, b)
		case b.Group == "moves":
			moves = append(moves, b)
		}
	}
	for i, a := range texts {
		for _, b := range texts[:i] {
			if a.Overlaps(b) {
				t.Errorf("%q and %q overlap: %v and %v", a.Text, b.Text, a.Rect, b.Rect)
			}
		}
		for _, m := range moves {
			if !m.Overlaps(a) {
				continue
			}
			// A bent arrow's box holds a corner that the arrow does
			// not.
			if m.Rect.Max.X-m.Rect.Min.X < moveLength+1 && m.Rect.Max.Y-m.Rect.Min.Y < moveLength+1 {
				t.Errorf("an arrow lies on %q", a.Text)
			}
		}
	}
	m := p.drawing
	down := vg.Point{Y: height}
	head := m.frame
	head.Center = p.middle.Add(down)
	for _, b := range boxes {
		if b.Kind == canvas.Text && b.Group != "cap" && m.onHead(b.Rect, head.Center) {
			t.Errorf("%q lies on the head", b.Text)
		}
	}
	for _, v := range p.moves {
		for _, path := range v.paths {
			for _, q := range path {
				for _, k := range m.marks {
					if distance(q, k.to) < headHalf+m.markRadius(k.electrode) {
						t.Errorf("the arrow of %q lies on %s", v.label.Text, k.name)
					}
				}
				if math.Hypot(float64(q.X/(m.frame.Right+headHalf)),
					float64(q.Y/(m.frame.Front+headHalf))) < 1 {
					t.Errorf("the arrow of %q lies on the head", v.label.Text)
				}
			}
		}
	}
}

// onHead reports whether a box lies on the ellipse of the head.
func (m picture) onHead(box vg.Rectangle, center vg.Point) bool {
	x := max(box.Min.X-center.X, min(0, box.Max.X-center.X))
	y := max(box.Min.Y-center.Y, min(0, box.Max.Y-center.Y))
	return math.Hypot(float64(x/m.frame.Right), float64(y/m.frame.Front)) < 1
}

func TestCapPages(t *testing.T) {
	heads := map[string]head.Ellipsoid{
		"sphere": {}, "long": {Right: 72, Front: 100, Up: 90}, "wide": {Right: 100, Front: 78, Up: 90},
	}
	for i, k := range capCases {
		for j, width := range []vg.Length{80, 85, 114, 139, 180} {
			for name, model := range heads {
				if name != "sphere" && (i+j)%3 != 0 || len(k.names) > 300 && (i+j)%2 != 0 {
					continue // much the same pages again
				}
				t.Run(fmt.Sprintf("%s, %.0f mm, %s", k.name, width, name), func(t *testing.T) {
					c := k.figure(t, width)
					c.Head = model
					checkCapPage(t, composeCap(t, c))
				})
			}
		}
	}
}

func TestCapPagesWithAwkwardTexts(t *testing.T) {
	long := strings.Repeat("something that goes on and on ", 9)
	for name, change := range map[string]func(c *Cap){
		"title":      func(c *Cap) { c.Title = long },
		"one word":   func(c *Cap) { c.Title = strings.Repeat("W", 200) },
		"warnings":   func(c *Cap) { c.Check.Warnings = []string{long, "and more"} },
		"remarks":    func(c *Cap) { c.Remarks = []string{long + "."} },
		"uncompared": func(c *Cap) { c.Check.Uncompared = strings.Fields(long) },
		"names": func(c *Cap) {
			c.Ideal[40].Name, c.Check.Sites[40].Name = "electrode-over-the-ear", "Electrode-over-the-ear"
		},
		"advice": func(c *Cap) {
			c.Check.Advice = nil
			for range 12 {
				c.Check.Advice = append(c.Check.Advice,
					capcheck.Advice{Action: capcheck.Reseat, Where: long})
			}
		},
		"no advice": func(c *Cap) { c.Check.Advice = nil },
	} {
		for _, width := range []vg.Length{85, 180} {
			t.Run(fmt.Sprintf("%s, %.0f mm", name, width), func(t *testing.T) {
				c := caseNamed(t, "all").figure(t, width)
				change(c)
				checkCapPage(t, composeCap(t, c))
			})
		}
	}
}

// Names keep off other marks, and what must be named is.
func TestCapNames(t *testing.T) {
	for _, c := range []struct {
		name  string
		width vg.Length
		want  []string
	}{
		{"exchange", 85, []string{"P4", "PO4"}}, {"two pairs", 85, []string{"F7", "F8", "P4", "P6"}},
		{"slipped", 85, []string{"C3", "PO8"}}, {"345 good", 85, []string{"C3", "PO8"}},
		{"tapes", 85, []string{"Fpz", "Oz", "T7", "T8", "Cz"}},
		{"perfect", 180, nil},
	} {
		p := composeCap(t, caseNamed(t, c.name).figure(t, c.width))
		for _, n := range c.want {
			if !slices.Contains(p.Named, n) {
				t.Errorf("%s, %.0f mm: %s has no name", c.name, c.width, n)
			}
		}
		m := p.drawing
		for _, n := range p.names {
			box := n.Box()
			box.Min.Y = n.At.Y
			for _, k := range m.marks {
				if k.name != n.electrode && (k.marked() || !n.Bold) && inBox(k.to,
					paper.Grown(box, m.markRadius(k.electrode))) {
					t.Errorf("%s, %.0f mm: the name %s covers %s", c.name, c.width, n.Text, k.name)
				}
			}
		}
	}
	// all but Iz, which a letter names
	if n := len(composeCap(t, caseNamed(t, "perfect").figure(t, 180)).Named); n != 63 {
		t.Errorf("%d of 64 electrodes in place are named", n)
	}
}

func capText(p *Plate) string {
	var lines []string
	for _, l := range p.page.Texts {
		lines = append(lines, l.Text)
	}
	return strings.ReplaceAll(strings.Join(lines, " "), "\u00a0", " ")
}

func TestCapStates(t *testing.T) {
	for _, c := range []struct {
		name         string
		want, absent []string
	}{
		{"pitch", []string{"44 of 64 electrodes more than 5 mm off", "1. slide the cap 7 mm forward",
			"check by tape: nasion to Fpz now", "pitch +4.8° ± 0.8° vertex 7.4 ± 1.3 mm too far back",
			"left and right are the wearer’s", "Displacements are along the scalp",
			"Not drawn: the distance from the head model", "mm off, drawn at 2 times the map’s scale",
			"Synthetic data."}, []string{"exchanged", "Beware", "not measured"}},
		{"exchange", []string{"P4 and PO4 exchanged; 2 of 64", "1. exchange P4 and PO4", "to be exchanged"},
			nil},
		{"two pairs", []string{"2 pairs exchanged"}, nil},
		{"sides", []string{"Left and right exchanged", "How the cap sits, once that is undone",
			"named where it sits"},
			[]string{"Farthest", "times the map"}},
		{"perfect", []string{"All 64 electrodes within 5 mm", "1. leave the cap as it is", "0.0 ± 0.9 mm off"},
			[]string{"Farthest", "move the cap"}},
		{"no limit", []string{"64 electrodes measured, no limit given", "10 mm off"}, []string{"more than"}},
		{"tapes", []string{"Tapes Nz–Fpz 4.3 cm, should be 3.5 cm: +8.0 mm, beyond the limit",
			"as the tapes tell",
			"2. turn: front edge 8 mm to the wearer’s right"}, []string{"Not drawn"}},
		{"high", []string{"pull it down evenly", "8.8 mm too high all round",
			"yaw not known not seen by these tapes",
			"a turn about the vertical is not seen yet"}, nil},
	} {
		text := capText(composeCap(t, caseNamed(t, c.name).figure(t, 180)))
		for _, w := range c.want {
			if !strings.Contains(text, w) {
				t.Errorf("%s: the page does not say %q: %s", c.name, w, text)
			}
		}
		for _, w := range c.absent {
			if strings.Contains(text, w) {
				t.Errorf("%s: the page says %q: %s", c.name, w, text)
			}
		}
	}
}
