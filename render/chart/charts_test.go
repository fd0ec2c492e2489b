package chart

import (
	"bytes"
	"fmt"
	"image/color"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/canvas"
	"calotte/render/internal/figtest"
	"calotte/render/internal/sheettest"
	"calotte/render/palette"
	"calotte/render/paper"
	"calotte/render/scalp"
	"calotte/topo/filter"
	"calotte/topo/provenance"
)

// waves are panels of damped waves, curves apart from each other.
func waves(panels, curves int) *Traces {
	t := &Traces{Reference: "average of 64 sites", Baseline: &[2]float64{-.1, 0}, Synthetic: true,
		Band: "one standard error of the mean over people"}
	for k := range 176 {
		t.Times = append(t.Times, -.1+.004*float64(k))
	}
	for c := range curves {
		t.Curves = append(t.Curves, fmt.Sprintf("flags learnt in week %d minus week %d", c+2, c+1))
	}
	for p := range panels {
		panel := TracePanel{Title: fmt.Sprintf("site %d", p+1)}
		for c := range curves {
			trace := Trace{}
			for _, s := range t.Times {
				trace.Values = append(trace.Values,
					(3+float64(c))*math.Exp(-math.Abs(s-.2)/.1)*math.Cos(20*s+float64(p)))
				trace.Band = append(trace.Band, .5)
			}
			panel.Curves = append(panel.Curves, trace)
		}
		t.Panels = append(t.Panels, panel)
	}
	return t
}

func trials(n int) *EpochPicture {
	e := &EpochPicture{Name: "sub-01, known", Site: "right (mean of P8,PO8)", Synthetic: true}
	for k := range 120 {
		e.Times = append(e.Times, -.1+.005*float64(k))
	}
	for i := range n {
		var row []float64
		for _, s := range e.Times {
			row = append(row, 8*math.Sin(9*s+float64(i%7))-6*math.Exp(-math.Abs(s-.17)/.03))
		}
		e.Epochs = append(e.Epochs, row)
		e.Numbers = append(e.Numbers, 2*i+1)
		e.Response = append(e.Response, .3+.1*math.Sin(float64(i)))
		e.Swings, e.SwingsAt = append(e.Swings, 40+30*math.Abs(math.Sin(float64(i)))), append(e.SwingsAt, "Fp1")
	}
	return e
}

func bandPass(t *testing.T) *filter.Filter {
	t.Helper()
	f, err := filter.New(filter.Design{HighPass: 1, LowPass: 30}, 250)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// figures are one of each kind, and the sizes at which a layout could break.
func chartFigures(t *testing.T) map[string]canvas.Figure {
	t.Helper()
	out := map[string]canvas.Figure{}
	must := func(name string, f canvas.Figure, err error) {
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		out[name] = f
	}
	for _, n := range []int{1, 2, 3, 4, 7, 12} {
		for _, width := range []vg.Length{85, 114, 180} {
			tr := waves(n, min(n, 6))
			tr.Width = width * vg.Millimeter
			tr.Windows = []TraceWindow{{"p170", .15, .19}, {"a window with a long name", .16, .2},
				{"late", .4, .5}}
			p, err := tr.Compose()
			must(fmt.Sprintf("traces of %d at %.0f mm", n, width), p, err)
		}
	}
	for _, n := range []int{1, 3, 40, 400} {
		e := trials(n)
		e.Width = 114 * vg.Millimeter
		p, err := e.Compose()
		must(fmt.Sprintf("%d epochs", n), p, err)
	}
	for _, names := range [][]layout.Name{layout.Set1020(), figtest.SixtyFour} {
		for _, width := range []vg.Length{114, 180} {
			tr := waves(len(names), 2)
			tr.Width = width * vg.Millimeter
			for k, s := range figtest.Place(t, head.Sphere(89), names) {
				tr.Panels[k].Title = s.Name
				tr.Places = append(tr.Places, scalp.OnDisc.Project(s.Position))
			}
			tr.Windows = []TraceWindow{{"p170", .15, .19}}
			p, err := tr.Compose()
			must(fmt.Sprintf("%d sites on the scalp at %.0f mm", len(names), width), p, err)
		}
	}
	for _, columns := range []int{1, 3, 12} {
		tr := waves(1, 1)
		tr.Maps = sheettest.Demo(t, figtest.SixtyFour, 1, columns)
		for k := range columns {
			tr.Windows = append(tr.Windows,
				TraceWindow{fmt.Sprintf("%d ms", 100+40*k), .1 + .04*float64(k), .13 + .04*float64(k)})
		}
		p, err := tr.Compose()
		must(fmt.Sprintf("%d maps hung below", columns), p, err)
	}
	out["stack"] = asymmetryStack(t)
	for _, n := range []int{1, 19, 64, 345} {
		p, err := siteTime(n).Compose()
		must(fmt.Sprintf("%d sites over time", n), p, err)
	}
	for _, third := range []int{1, 21, 115} {
		s := siteTime(3 * third)
		s.Groups = []Group{{"left", third}, {"middle", third}, {"right", third}}
		p, err := s.Compose()
		must(fmt.Sprintf("three times %d sites over time", third), p, err)
	}
	for _, width := range []vg.Length{85, 180} {
		for _, n := range []int{2, 48, 400} {
			p, err := ways(n, width*vg.Millimeter).Compose()
			must(fmt.Sprintf("%d ways at %.0f mm", n, width), p, err)
		}
		for _, curves := range []int{1, 5} {
			p, err := shares(curves, width*vg.Millimeter).Compose()
			must(fmt.Sprintf("%d shares at %.0f mm", curves, width), p, err)
		}
		for _, value := range []float64{-9, 0, 9} {
			s := &Intervals{Unit: "right minus left, µV", Width: width * vg.Millimeter,
				Ends:  [2]string{"ipsilateral more positive", "contralateral more positive"},
				Lines: []Interval{{Name: "PO7–PO8", Value: value, Low: value - 1, High: value + 1, Note: "p* 0.056"}}}
			p, err := s.Compose()
			must(fmt.Sprintf("an interval at %g, %.0f mm", value, width), p, err)
		}
		p, err := (&Response{Filter: bandPass(t), Width: width * vg.Millimeter}).Compose()
		must(fmt.Sprintf("response at %.0f mm", width), p, err)
	}
	return out
}

// asymmetryStack is figures of a pair below each other.
func asymmetryStack(t *testing.T) *paper.Stack {
	t.Helper()
	maps := sheettest.Demo(t, figtest.SixtyFour, 2, 1)
	maps.Rows[1].RightHalf, maps.Rows[1].Title = true, "known: right minus left"
	lines := &Intervals{Title: "Right minus left, 170 ms", Unit: "right minus left, µV",
		Caption: "Whiskers: 95 % intervals of the mean by t, of 12 people.", Lines: []Interval{
			{Name: "P7–P8", Value: -1.4, Low: -2.6, High: -.1, Note: "p* 0.056"},
			{Name: "PO7–PO8", Value: .4, Low: -.8, High: 1.9, Open: true},
			{Name: "O1–O2", Value: -.2, Low: math.NaN(), High: math.NaN()},
		}}
	plate, err := lines.Compose()
	if err != nil {
		t.Fatal(err)
	}
	s := &paper.Stack{Name: "Left against right", Figures: []canvas.Figure{sheettest.Compose(t, maps), plate}}
	if err := s.Validate(); err != nil {
		t.Fatal(err)
	}
	return s
}

// Whiskers end where the numbers say, on the axis of their own ticks.
func TestIntervalsLieAtTheirValues(t *testing.T) {
	s := &Intervals{Unit: "µV", Lines: []Interval{{Name: "a", Value: -1, Low: -3, High: 2}}}
	p, err := s.Compose()
	if err != nil {
		t.Fatal(err)
	}
	left, right := p.chart.Point(-3, .5).X, p.chart.Point(2, .5).X
	if got, want := float64((right-left)/(p.chart.Rect.Max.X-p.chart.Rect.Min.X)),
		5/(p.chart.X.High-p.chart.X.Low); math.Abs(got-want) > 1e-12 {
		t.Errorf("the whisker takes %.4f of the axis, want %.4f", got, want)
	}
	boxes, err := canvas.Boxes(p)
	if err != nil {
		t.Fatal(err)
	}
	found := false
	for _, b := range boxes {
		found = found || b.Kind == canvas.Stroke && math.Abs(float64(b.Rect.Min.X-left)) < .5 &&
			math.Abs(float64(b.Rect.Max.X-right)) < .5
	}
	if !found {
		t.Error("no stroke from the low to the high end")
	}
	for name, lines := range map[string][]Interval{"none": nil, "NaN": {{Value: math.NaN()}},
		"infinite": {{Value: 1, Low: math.Inf(-1)}}} {
		if _, err := (&Intervals{Lines: lines}).Compose(); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// No text touches another, and nothing leaves the page.
func TestChartsLayout(t *testing.T) {
	for name, f := range chartFigures(t) {
		boxes, err := canvas.Boxes(f)
		if err != nil {
			t.Fatal(err)
		}
		width, height := f.Size()
		var texts []canvas.Box
		for _, b := range boxes {
			if !b.Within(width, height) {
				t.Errorf("%s: %q of %s at %v leaves the page of %.0f × %.0f", name, b.Text, b.Group,
					b.Rect,
					width,
					height)
			}
			if b.Kind != canvas.Text {
				continue
			}
			for _, o := range texts {
				if b.Overlaps(o) {
					t.Errorf("%s: %q touches %q", name, b.Text, o.Text)
				}
			}
			texts = append(texts, b)
		}
	}
}

// The drawn line passes through the data: its points, read back from the SVG,
// are the samples on the axes that the numbers stand at.
func TestTracesDrawTheData(t *testing.T) {
	tr := waves(1, 1)
	tr.Panels[0].Curves[0].Band = nil
	p, err := tr.Compose()
	if err != nil {
		t.Fatal(err)
	}
	var svg bytes.Buffer
	if err := canvas.Write(&svg, p, canvas.SVG, provenance.Record{}); err != nil {
		t.Fatal(err)
	}
	first := strokes()[0].Colour.(color.RGBA)
	hex := fmt.Sprintf("#%02x%02x%02x", first.R, first.G, first.B)
	var points [][2]float64
	number := regexp.MustCompile(`-?[0-9.]+`)
	for _, path := range regexp.MustCompile(`<path[^>]*>`).FindAllString(svg.String(), -1) {
		d := regexp.MustCompile(` d="([^"]*)"`).FindStringSubmatch(path)
		if !strings.Contains(path, hex) || d == nil {
			continue
		}
		values := number.FindAllString(d[1], -1)
		if len(values) < 2*len(tr.Times) {
			continue // the sample in the legend
		}
		for i := 0; i+1 < len(values); i += 2 {
			x, _ := strconv.ParseFloat(values[i], 64)
			y, _ := strconv.ParseFloat(values[i+1], 64)
			if i > 0 { // the first is absolute, the others are steps
				x, y = x+points[len(points)-1][0], y+points[len(points)-1][1]
			}
			points = append(points, [2]float64{x, y})
		}
	}
	if len(points) != len(tr.Times) {
		t.Fatalf("%d points of the curve in the SVG, want %d", len(points), len(tr.Times))
	}
	// Two samples fix each axis; all others have to lie between them in
	// proportion.
	values := tr.Panels[0].Curves[0].Values
	least, greatest := 0, 0
	for i, v := range values {
		if v < values[least] {
			least = i
		}
		if v > values[greatest] {
			greatest = i
		}
	}
	for i, v := range values {
		share := (v - values[least]) / (values[greatest] - values[least])
		y := points[least][1] + share*(points[greatest][1]-points[least][1])
		x := points[0][0] + (tr.Times[i]-tr.Times[0])/(tr.Times[len(values)-1]-tr.Times[0])*
			(points[len(values)-1][0]-points[0][0])
		if math.Abs(x-points[i][0]) > .02 || math.Abs(y-points[i][1]) > .02 {
			t.Fatalf("sample %d is drawn at %v, want %.3f, %.3f", i, points[i], x, y)
		}
	}
}

// Each row of the picture has the colour of its epoch.
func TestEpochPictureColours(t *testing.T) {
	e := trials(5)
	for i := range e.Epochs {
		for k := range e.Epochs[i] {
			e.Epochs[i][k] = float64(i-2) * 10
		}
	}
	e.Limit = 20
	p, err := e.Compose()
	if err != nil {
		t.Fatal(err)
	}
	img, err := canvas.Raster(p, 300)
	if err != nil {
		t.Fatal(err)
	}
	_, height := p.Size()
	table := palette.NewTable(palette.Diverging.At)
	for i := range e.Epochs {
		at := p.image.Point(350, float64(i+1))
		x, y := int(float64(at.X)/72*300), int(float64(height-(height+at.Y))/72*300)
		got := img.RGBAAt(x, y)
		want := table.At(float64(i-2) / 2)
		for _, d := range []int{int(got.R) - int(want.R), int(got.G) - int(want.G), int(got.B) - int(want.B)} {
			if d > 2 || d < -2 {
				t.Errorf("epoch %d is drawn in %v, want %v", i+1, got, want)
				break
			}
		}
	}
}

func TestChartsRefuse(t *testing.T) {
	for want, compose := range map[string]func() error{
		"no curves to draw": func() error { _, err := (&Traces{}).Compose(); return err },
		"a limit of -1": func() error {
			tr := waves(1,
				1)
			tr.Limit = -1
			_, err := tr.Compose()
			return err
		},
		"cannot be told apart": func() error {
			_, err := waves(1, 7).Compose()
			return err
		},
		"no room for its text": func() error {
			tr := waves(1,
				1)
			tr.Width = 20
			_, err := tr.Compose()
			return err
		},
		"no epochs to draw": func() error { _, err := (&EpochPicture{}).Compose(); return err },
		"no filter to draw": func() error { _, err := (&Response{}).Compose(); return err },
		"other than 176 samples": func() error {
			tr := waves(1, 1)
			tr.Panels[0].Curves[0].Values = tr.Panels[0].Curves[0].Values[1:]
			_, err := tr.Compose()
			return err
		},
	} {
		if err := compose(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}

func TestFlatTracesSaySo(t *testing.T) {
	tr := waves(1, 1)
	for i := range tr.Times {
		tr.Panels[0].Curves[0].Values[i], tr.Panels[0].Curves[0].Band[i] = 0, 0
	}
	p, err := tr.Compose()
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(p.Description(), "All values are zero.") {
		t.Error(p.Description())
	}
}

// The page of a pair, of two kinds of figures.
func TestStackPicture(t *testing.T) { figtest.CheckGolden(t, "stack.png", asymmetryStack(t)) }

var testTable = palette.NewTable(palette.Diverging.At)
