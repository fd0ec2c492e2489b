package render

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

	"calotte/render/canvas"
	"calotte/render/palette"
	"calotte/topo/erp"
	"calotte/topo/filter"
)

// waves are panels of damped waves, curves apart from each other.
func waves(panels, curves int) *Traces {
	t := &Traces{Reference: "average of 64 sites", Baseline: &[2]float64{-.1, 0}, Synthetic: true, Band: "one standard error of the mean over people"}
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
				trace.Values = append(trace.Values, (3+float64(c))*math.Exp(-math.Abs(s-.2)/.1)*math.Cos(20*s+float64(p)))
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
			tr.Windows = []TraceWindow{{"p170", .15, .19}, {"a window with a long name", .16, .2}, {"late", .4, .5}}
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
	for _, width := range []vg.Length{85, 180} {
		p, err := (&Response{Filter: bandPass(t), Width: width * vg.Millimeter}).Compose()
		must(fmt.Sprintf("response at %.0f mm", width), p, err)
	}
	return out
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
				t.Errorf("%s: %q of %s at %v leaves the page of %.0f × %.0f", name, b.Text, b.Group, b.Rect, width, height)
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

// The drawn line passes through the data: its points, read back from the SVG, are the
// samples on the axes that the numbers stand at.
func TestTracesDrawTheData(t *testing.T) {
	tr := waves(1, 1)
	tr.Panels[0].Curves[0].Band = nil
	p, err := tr.Compose()
	if err != nil {
		t.Fatal(err)
	}
	var svg bytes.Buffer
	if err := canvas.Write(&svg, p, canvas.SVG, erp.Provenance{}); err != nil {
		t.Fatal(err)
	}
	first := strokes()[0].colour.(color.RGBA)
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
	// Two samples fix each axis; all others have to lie between them in proportion.
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
		x := points[0][0] + (tr.Times[i]-tr.Times[0])/(tr.Times[len(values)-1]-tr.Times[0])*(points[len(values)-1][0]-points[0][0])
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
	table := newColorTable(palette.Diverging.At)
	for i := range e.Epochs {
		at := p.image.point(350, float64(i+1))
		x, y := int(float64(at.X)/72*300), int(float64(height-(height+at.Y))/72*300)
		got := img.RGBAAt(x, y)
		want := table.at(float64(i-2) / 2)
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
		"a limit of -1":     func() error { tr := waves(1, 1); tr.Limit = -1; _, err := tr.Compose(); return err },
		"cannot be told apart": func() error {
			_, err := waves(1, 7).Compose()
			return err
		},
		"no room for its text": func() error { tr := waves(1, 1); tr.Width = 20; _, err := tr.Compose(); return err },
		"no epochs to draw":    func() error { _, err := (&EpochPicture{}).Compose(); return err },
		"no filter to draw":    func() error { _, err := (&Response{}).Compose(); return err },
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

func TestChartPictures(t *testing.T) {
	tr := waves(2, 3)
	tr.Windows = []TraceWindow{{"p170", .15, .19}, {"late", .4, .5}}
	p, err := tr.Compose()
	if err != nil {
		t.Fatal(err)
	}
	checkGolden(t, "traces.png", p)
	e, err := trials(40).Compose()
	if err != nil {
		t.Fatal(err)
	}
	checkGolden(t, "epochs.png", e)
	r, err := (&Response{Filter: bandPass(t), Width: 114 * vg.Millimeter}).Compose()
	if err != nil {
		t.Fatal(err)
	}
	checkGolden(t, "response.png", r)
}
