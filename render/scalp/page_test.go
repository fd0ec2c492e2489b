package scalp

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/plot/vg"
	"pgregory.net/rapid"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/canvas"
	"calotte/render/internal/figtest"
	"calotte/render/paper"
	"calotte/topo"
)

// checkPage demands that all is on the page and that no text touches another,
// nor a map or the bar.
func checkPage(t interface {
	Errorf(string, ...any)
	Fatalf(string, ...any)
}, p *Plate) {
	boxes, err := canvas.Boxes(p)
	if err != nil {
		t.Fatalf("%v", err)
	}
	width, height := p.Size()
	var texts []canvas.Box
	for _, b := range boxes {
		if !b.Within(width, height) {
			t.Errorf("%v %q leaves the page of %.1f × %.1f: %v", b.Kind, b.Text, width, height, b.Rect)
		}
		if b.Kind == canvas.Text {
			texts = append(texts, b)
		}
	}
	for i, a := range texts {
		for _, b := range texts[:i] {
			if a.Overlaps(b) {
				t.Errorf("%q and %q overlap: %v and %v", a.Text, b.Text, a.Rect, b.Rect)
			}
		}
	}
	// Texts that are not part of a map keep out of the maps and of the bar.
	occupied := append([]vg.Rectangle{}, p.page.bars...)
	for _, m := range p.panels {
		f := m.frame
		low := f.below()
		if p.page.letters && f.View.View != Top {
			low = -vg.Length(f.View.ringBelow(0)) * f.Front // a letter stands in the face
		}
		occupied = append(occupied, vg.Rectangle{
			Min: f.Center.Sub(vg.Point{X: f.Right + paper.TickLength, Y: low}),
			Max: f.Center.Add(vg.Point{X: f.Right + paper.TickLength, Y: f.above()}),
		})
	}
	for _, text := range p.page.Texts {
		for _, r := range occupied {
			if paper.Overlap(text.Box(), r) {
				t.Errorf("%q lies on a map or on the bar", text.Text)
			}
		}
	}
	for i, a := range occupied {
		for _, b := range occupied[:i] {
			if paper.Overlap(a, b) {
				t.Errorf("two maps overlap: %v and %v", a, b)
			}
		}
	}
}

func TestPages(t *testing.T) {
	for _, names := range [][]layout.Name{layout.Set1020(), figtest.SixtyFour, layout.Set1005()} {
		for i, width := range []vg.Length{40, 85, 114, 180} {
			for j, columns := range []int{1, 2, 4, 10, 12, 23} {
				if len(names) > 300 && (i+j)%5 != 0 || len(names) == 64 && (i+j)%2 != 0 {
					continue // much the same pages again
				}
				rows := 1 + (i+j)%3
				t.Run(fmt.Sprintf("%d sites, %.0f mm, %d × %d", len(names), width, rows, columns),
					func(t *testing.T) {
						s := demoSheet(t, names, rows, columns)
						s.Width, s.Labels = width*vg.Millimeter, j%2 == 0
						checkPage(t, compose(t, s))
					})
			}
		}
	}
}

func TestPagesWithAwkwardTexts(t *testing.T) {
	long := strings.Repeat("a condition with a name that goes on and on ", 4)
	for _, c := range []struct {
		name   string
		change func(s *Sheet)
	}{
		{"long title", func(s *Sheet) { s.Rows[0].Title = long }},
		{"long note", func(s *Sheet) { s.Rows[1].Note = long }},
		{"one long word", func(s *Sheet) { s.Rows[0].Title = strings.Repeat("W", 300) }},
		{"long latencies", func(s *Sheet) { s.Columns[0], s.Columns[1] = long, "150–190 ms" }},
		{"no texts", func(s *Sheet) { s.Rows[0].Title, s.Rows[0].Note, s.Columns[0] = "", "", "" }},
		{"long reference", func(s *Sheet) { s.Reference = long }},
		{"large numbers", func(s *Sheet) { s.Limit = 123456 }},
		{"small numbers", func(s *Sheet) { s.Limit = .00001234 }},
		{"odd limit", func(s *Sheet) { s.Limit = 7.77 }},
		{"all kinds of marks", func(s *Sheet) {
			s.Rows[0].Marks[3].Kind = Repaired
			s.Rows[1].leaveOut(t, "PO5", "AF5")
			s.Rows[0].Values.(*mat.Dense).Set(9, 0, 50)
		}},
		{"no marks", func(s *Sheet) { s.Rows[0].Marks, s.Rows[1].Marks = nil, nil }},
		{"a long head", func(s *Sheet) { s.Head = head.Ellipsoid{Right: 70, Front: 100, Up: 90} }},
		{"a wide head", func(s *Sheet) { s.Head = head.Ellipsoid{Right: 100, Front: 70, Up: 90} }},
		{"from every side", func(s *Sheet) { s.Views = allViews }},
		{"from one side", func(s *Sheet) { s.Views, s.Head = []View{Front}, figtest.LongHead(t) }},
		{"a scale a row", func(s *Sheet) { s.Scaling, s.Rows[1].Title = ScalePerRow, long }},
		{"stippled and chosen", func(s *Sheet) {
			s.withSpread(12)
			s.Boundary, s.Choice = Boundary{2, AllErrors}, long
			for i := range s.Rows {
				s.Rows[i].Chosen = make([][]int, len(s.Columns))
				s.Rows[i].Chosen[0] = []int{1, 2, 3}
			}
		}},
		{"errors", func(s *Sheet) { s.withSpread(12); s.Shows, s.Palette = StandardErrors, Grey }},
		{"errors of the interpolation", func(s *Sheet) { s.Shows = InterpolationErrors }},
		{"all drawn", func(s *Sheet) { s.Extrapolate = true }},
		{"agreement", func(s *Sheet) { s.withSpread(12); s.Shows, s.Spacing = Agreement, Stereographic }},
		{"csd", func(s *Sheet) { s.Quantity = topo.CurrentDensity }},
		{"remarks", func(s *Sheet) { s.Remarks = []string{long + ".", "And more."} }},
	} {
		for _, size := range []struct {
			width   vg.Length
			columns int
		}{{85, 5}, {180, 1}} {
			t.Run(fmt.Sprintf("%s, %.0f mm, %d", c.name, size.width, size.columns), func(t *testing.T) {
				// changes may touch two columns
				s := demoSheet(t, figtest.SixtyFour, 2, max(size.columns, 2))
				if size.columns == 1 {
					for i := range s.Rows {
						s.Rows[i].Values = figtest.Amplitudes(figtest.Place(t, head.Sphere(89),
							figtest.SixtyFour),
							1)
					}
				}
				s.Width, s.Labels = size.width*vg.Millimeter, true
				c.change(s)
				s.Columns = s.Columns[:size.columns]
				for i := range s.Rows {
					s.Rows[i].Spread = s.Rows[i].Spread[:min(size.columns, len(s.Rows[i].Spread))]
					s.Rows[i].Chosen = s.Rows[i].Chosen[:min(size.columns, len(s.Rows[i].Chosen))]
				}
				checkPage(t, compose(t, s))
			})
		}
	}
}

// A name stands nearest to the mark that it names.
func TestNamesStandByTheirSites(t *testing.T) {
	for _, c := range []struct {
		names []layout.Name
		width vg.Length
		least int // names that must find room
	}{{layout.Set1020(), 85, 19}, {figtest.SixtyFour, 85, 62}, {figtest.SixtyFour, 50, 30},
		{layout.Set1005(), 114, 100}} {
		s := demoSheet(t, c.names, 1, 1)
		s.Width, s.Labels = c.width*vg.Millimeter, true
		p := compose(t, s)
		if p.SitesNamed[0] < c.least {
			t.Errorf("%d sites on %.0f mm: only %d have names", len(c.names), c.width, p.SitesNamed[0])
		}
		f := p.furniture[0]
		for _, l := range f.labels {
			box := l.Box()
			middle := vg.Point{X: (box.Min.X + box.Max.X) / 2, Y: l.At.Y + (box.Max.Y-l.At.Y)/2}
			nearest, least := "", math.Inf(1)
			for _, m := range f.marks {
				d := f.frame.Project(m.Site.Position).Sub(middle)
				if distance := math.Hypot(float64(d.X), float64(d.Y)); distance < least {
					nearest, least = m.Site.Name, distance
				}
			}
			if nearest != l.Text {
				t.Errorf("%q stands nearest to %s", l.Text, nearest)
			}
		}
	}
}

func TestTextsWrapWithin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`([a-zA-Zµ²–]{1,30}[ \x{00a0}]?){0,20}`).Draw(t, "text")
		width := vg.Length(rapid.Float64Range(15, 300).Draw(t, "width"))
		for _, lines := range [][]string{paper.Wrap(text, width, false), paper.WrapEvenly(text, width, false)} {
			for _, l := range lines {
				if paper.Width(l) > width {
					t.Errorf("%q is wider than %g", l, width)
				}
			}
			squeeze := strings.NewReplacer(" ", "")
			if got, want := squeeze.Replace(strings.Join(lines, "")), squeeze.Replace(text); got != want {
				t.Errorf("%q became %q", want, got)
			}
		}
	})
}

func TestManyColumnsWrapEvenly(t *testing.T) {
	for _, c := range []struct {
		width            vg.Length
		columns, perLine int
	}{{180, 12, 12}, {180, 13, 7}, {85, 10, 5}, {85, 12, 4}, {85, 4, 4}, {114, 10, 5}, {180, 1, 1}} {
		s := demoSheet(t, layout.Set1020(), 1, c.columns)
		s.Width = c.width * vg.Millimeter
		if got := compose(t, s).page.perLine; got != c.perLine {
			t.Errorf("%d maps on %.0f mm: %d in a line, want %d", c.columns, c.width, got, c.perLine)
		}
	}
}
