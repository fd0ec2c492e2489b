package chart

import (
	"errors"
	"fmt"
	"image/color"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/palette"
	"calotte/render/paper"
	"calotte/render/scalp"
)

// Traces are waveforms over time: a panel for each site, pool or average, and
// in each a curve for each condition, with the band that the legend names.
type Traces struct {
	Name   string    // of the figure; not drawn
	Times  []float64 // s
	Panels []TracePanel
	Curves []string // what the curves of all panels are, for the legend, in their order

	Band     string        // "95 % over 12 people"; empty: the curves have no bands
	Windows  []TraceWindow // drawn as brackets below the curves
	Baseline *[2]float64   // s; nil: not known
	Limit    float64       // µV at both ends of the axis; zero: what the curves need
	Down     bool          // positive amplitudes point downward
	Width    vg.Length     // zero is 180 mm

	// Places, where there are any, are those of the panels on the head seen
	// from above, as TopView has them; each panel is a small one then, all
	// of one scale.
	Places []r2.Vec
	// Maps, if there are any, hang below the windows: a column for each, in
	// their order.
	Maps *scalp.Sheet

	// Below says that the figure stands below one that tells reference and
	// origin.
	Below bool

	Reference string // what the potentials are measured against; empty: not known
	Synthetic bool
	Remarks   []string
}

// A TracePanel is one pair of axes.
type TracePanel struct {
	Title  string
	Curves []Trace     // one for each of Traces.Curves; Values nil: not there
	Faint  [][]float64 // more lines, in pale ink: all sites behind a field power
}

// A Trace is one curve in µV, and half the width of its band; nil: none.
type Trace struct{ Values, Band []float64 }

// A TraceWindow is a stretch of time with a name.
type TraceWindow struct {
	Name     string
	From, To float64 // s
}

// A TracesPlate is Traces whose page is laid out. It is a canvas.Figure.
type TracesPlate struct {
	traces *Traces
	page   *chartPage
	charts []Chart
	millis []float64
	legend []vg.Point // the left end of each curve's sample
	key    *Chart     // of panels on the scalp
	maps   *scalp.Plate
	hang   vg.Length // how far down the page the maps begin
}

// Compose checks the traces and lays out the page.
func (t *Traces) Compose() (*TracesPlate, error) {
	if err := t.validate(); err != nil {
		return nil, err
	}
	page, err := newChartPage(t.Width)
	if err != nil {
		return nil, err
	}
	p := &TracesPlate{traces: t, page: page}
	for _, s := range t.Times {
		p.millis = append(p.millis, 1000*s)
	}
	if t.Maps != nil {
		if err := p.composeMaps(); err != nil {
			return nil, err
		}
	}
	if t.Places == nil {
		p.layOut()
		return p, nil
	}
	return p, p.layOutOnScalp()
}

func (t *Traces) validate() error {
	switch {
	case len(t.Panels) == 0 || len(t.Times) < 2:
		return errors.New("there are no curves to draw")
	case !(t.Limit >= 0) || math.IsInf(t.Limit, 1):
		return fmt.Errorf("a limit of %g µV: expected a positive number, or zero for the default", t.Limit)
	case len(t.Curves) > len(strokes()):
		return fmt.Errorf("%d curves in a panel cannot be told apart: at most %d", len(t.Curves),
			len(strokes()))
	}
	if t.Places != nil && (len(t.Places) != len(t.Panels) || t.Maps != nil) {
		return fmt.Errorf("%d places for %d panels: give one for each, and no maps", len(t.Places),
			len(t.Panels))
	}
	if t.Maps != nil && len(t.Maps.Columns) != len(t.Windows) {
		return fmt.Errorf("%d columns of maps for %d windows: give one for each", len(t.Maps.Columns),
			len(t.Windows))
	}
	for _, panel := range t.Panels {
		if len(panel.Curves) != len(t.Curves) {
			return fmt.Errorf("panel %q has %d curves of %d: give one for each, empty where it is not there",
				panel.Title, len(panel.Curves), len(t.Curves))
		}
		for k, c := range panel.Curves {
			if c.Values != nil && len(c.Values) != len(t.Times) ||
				c.Band != nil && len(c.Band) != len(t.Times) {
				return fmt.Errorf("panel %q, %s: other than %d samples", panel.Title, t.Curves[k],
					len(t.Times))
			}
		}
		for _, row := range panel.Faint {
			if len(row) != len(t.Times) {
				return fmt.Errorf("panel %q: a line of %d samples, there are %d times", panel.Title,
					len(row),
					len(t.Times))
			}
		}
	}
	return nil
}

// strokes are how curves are drawn, in order: each colour has a line style of
// its own.
func strokes() []Stroke {
	var list []Stroke
	for i, c := range palette.Categories() {
		list = append(list, Stroke{c, CurveDash(i)})
	}
	return list
}

var curveDashes = [...][]vg.Length{nil, {4, 1.5}, {1.2, 1.2}, {6, 1.5, 1.2, 1.5}, {2.5, 1.2}, {8, 2}}

// veil is a colour through which bands below it show.
func veil(c color.Color) color.NRGBA {
	v := color.NRGBAModel.Convert(c).(color.NRGBA)
	v.A = 46
	return v
}

// extremes are the least and the greatest amplitude drawn, zero among them.
func (t *Traces) extremes() (least, greatest float64) {
	take := func(v, half float64) {
		least, greatest = min(least, v-half), max(greatest, v+half)
	}
	for _, panel := range t.Panels {
		for _, c := range panel.Curves {
			for i, v := range c.Values {
				half := 0.0
				if c.Band != nil {
					half = c.Band[i]
				}
				take(v, half)
			}
		}
		for _, row := range panel.Faint {
			for _, v := range row {
				take(v, 0)
			}
		}
	}
	return least, greatest
}

// flat reports whether all that is drawn is zero throughout.
func (t *Traces) flat() bool {
	least, greatest := t.extremes()
	return least == 0 && greatest == 0
}

const (
	panelGap     = 5 * paper.MM
	widestPanel  = 90 * paper.MM
	bracketDepth = 2.2 * vg.Length(1)
)

// axes are those of time and of the amplitudes of all panels.
func (p *TracesPlate) axes() (time, amplitude Axis) {
	t := p.traces
	least, greatest := t.extremes()
	amplitude = RoundedAxis("µV", least, greatest, 8)
	switch {
	case t.Limit > 0:
		amplitude = NewAxis("µV", -t.Limit, t.Limit, 7)
	case t.flat():
		amplitude = NewAxis("µV", -1, 1, 3)
	}
	if t.Down {
		amplitude.Low, amplitude.High = amplitude.High, amplitude.Low
	}
	return NewAxis("ms", p.millis[0], p.millis[len(p.millis)-1], 8), amplitude
}

func (p *TracesPlate) layOut() {
	t, page := p.traces, p.page
	time, amplitude := p.axes()
	p.placeLegend()
	across := min(len(t.Panels), max(1, int(page.inner()/(widestPanel*.62))))
	if len(t.Panels) == 4 {
		across = min(across, 2)
	}
	pitch := (page.inner() + panelGap) / vg.Length(across)
	room := LeftRoom(amplitude)
	height := min(.5*(pitch-panelGap-room), 45*paper.MM)
	for first := 0; first < len(t.Panels); first += across {
		page.y += paper.LineHeight + AboveRoom
		for k := first; k < min(first+across, len(t.Panels)); k++ {
			left := paper.Margin + vg.Length(k-first)*pitch
			c := Chart{Rect: rect(left+room, page.y, left+pitch-panelGap-paper.TextSize/2, page.y+height),
				X: time,
				Y: amplitude}
			p.charts = append(p.charts, c)
			page.texts = append(page.texts,
				paper.Line{Text: t.Panels[k].Title, Bold: true,
					At: vg.Point{X: c.Rect.Min.X, Y: c.Rect.Max.Y + AboveRoom}})
			page.texts = append(page.texts, c.Texts()...)
			p.nameWindows(&c)
		}
		page.y += height + BelowRoom + p.windowRoom() + 4
	}
	if p.maps != nil {
		p.hangMaps()
		return
	}
	page.paragraph(strings.Join(p.caption(), " "), false)
	page.finish()
}

// placeLegend names the curves beside samples of them.
func (p *TracesPlate) placeLegend() {
	page, x := p.page, paper.Margin
	if len(p.traces.Curves) == 0 {
		return
	}
	page.y += paper.LineHeight
	for _, name := range p.traces.Curves {
		width := 2.4*paper.Swatch + paper.Width(name) + 2*paper.TextSize
		if x > paper.Margin && x+width > page.width-paper.Margin {
			page.y += paper.LineHeight
			x = paper.Margin
		}
		p.legend = append(p.legend, vg.Point{X: x, Y: -(page.y - paper.Descent - paper.TextSize*.35)})
		page.texts = append(page.texts,
			paper.Line{Text: name, At: vg.Point{X: x + 2.4*paper.Swatch, Y: -(page.y - paper.Descent)}})
		x += width
	}
	page.y += 2
}

// windowRoom is what the brackets and their names need below the axis.
func (p *TracesPlate) windowRoom() vg.Length {
	if len(p.traces.Windows) == 0 {
		return 0
	}
	return vg.Length(p.lanes())*(paper.LineHeight+bracketDepth+1) + 2
}

// lanes is how many rows the windows take, so that none overlap.
func (p *TracesPlate) lanes() int {
	most := 0
	for i := range p.traces.Windows {
		most = max(most, p.lane(i)+1)
	}
	return most
}

// lane is the first row in which no earlier window is in the way. Names may be
// wider than their windows, so each takes its own row where they are many.
func (p *TracesPlate) lane(window int) int {
	w := p.traces.Windows
	for lane := 0; ; lane++ {
		free := true
		for j := range window {
			if p.lane(j) == lane && w[j].From < w[window].To+.15 && w[window].From < w[j].To+.15 {
				free = false
			}
		}
		if free {
			return lane
		}
	}
}

// bracketTop is where a window's bracket begins below a chart.
func (p *TracesPlate) bracketTop(c *Chart, window int) vg.Length {
	return c.Rect.Min.Y - BelowRoom - vg.Length(p.lane(window))*(paper.LineHeight+bracketDepth+1)
}

func (p *TracesPlate) nameWindows(c *Chart) {
	for i, w := range p.traces.Windows {
		from, to := c.Point(1000*w.From, c.Y.Low).X, c.Point(1000*w.To, c.Y.Low).X
		x := min(max((from+to)/2-paper.Width(w.Name)/2, c.Rect.Min.X), c.Rect.Max.X-paper.Width(w.Name))
		p.page.texts = append(p.page.texts,
			paper.Line{Text: w.Name,
				At: vg.Point{X: x, Y: p.bracketTop(c, i) - bracketDepth - paper.LineHeight +
					paper.Descent}})
	}
}

func (p *TracesPlate) caption() []string {
	t := p.traces
	var lines []string
	say := func(format string, a ...any) { lines = append(lines, fmt.Sprintf(format, a...)) }
	if t.Synthetic && !t.Below {
		say("Synthetic data.")
	}
	up := "up"
	if t.Down {
		up = "down"
	}
	say("Positive is %s; time zero is the event.", up)
	switch {
	case t.Below:
	case t.Reference == "":
		say("Reference not known.")
	default:
		say("Reference: %s.", t.Reference)
	}
	if t.Baseline != nil {
		say("Baseline: %s to %s\u00a0ms, shaded.", paper.Number(1000*t.Baseline[0], 6),
			paper.Number(1000*t.Baseline[1], 6))
	}
	if t.Band != "" {
		say("Bands: %s.", t.Band)
	}
	if slices.ContainsFunc(t.Panels, func(p TracePanel) bool { return p.Faint != nil }) {
		say("Pale lines: all sites; the bold one is the global field power.")
	}
	if t.flat() {
		say("All values are zero.")
	}
	return append(lines, t.Remarks...)
}

// Size of the page, in whole picture elements.
func (p *TracesPlate) Size() (width, height vg.Length) { return p.page.width, p.page.height }

// Title is the figure's name.
func (p *TracesPlate) Title() string {
	if p.traces.Name != "" {
		return p.traces.Name
	}
	return "Waveforms"
}

// Description says in words what is shown.
func (p *TracesPlate) Description() string {
	var panels []string
	for _, panel := range p.traces.Panels {
		panels = append(panels, panel.Title)
	}
	text := "Potentials over time at " + strings.Join(panels, ", ")
	if len(p.traces.Curves) > 0 {
		text += ", for " + strings.Join(p.traces.Curves, "; ")
	}
	return text + ". " + strings.Join(p.caption(), " ")
}

// Draw draws the panels.
func (p *TracesPlate) Draw(c canvas.Canvas) {
	p.page.onPage(c, func() {
		styles := strokes()
		for i, at := range p.legend {
			c.SetLineDash(styles[i].Dash, 0)
			paper.Stroke(c, paper.Straight(at, vg.Point{X: at.X + 2*paper.Swatch, Y: at.Y}),
				styles[i].Colour,
				1.2)
			c.SetLineDash(nil, 0)
		}
		for k := range p.charts {
			c.Group(fmt.Sprintf("panel-%d", k+1), p.traces.Panels[k].Title)
			p.drawPanel(c, &p.charts[k], &p.traces.Panels[k], styles)
			c.End()
		}
		if p.traces.Places != nil {
			p.drawKey(c)
		}
		if p.maps != nil {
			p.drawMaps(c)
		}
	})
}

func (p *TracesPlate) drawPanel(c canvas.Canvas, at *Chart, panel *TracePanel, styles []Stroke) {
	if b := p.traces.Baseline; b != nil {
		edge := []float64{1000 * b[0], 1000 * b[1]}
		at.band(c, edge, []float64{at.Y.Low, at.Y.Low}, []float64{at.Y.High, at.Y.High}, paper.Faded(.06))
	}
	if at.X.Low < 0 && at.X.High > 0 {
		paper.Stroke(c, paper.Straight(at.Point(0, at.Y.Low), at.Point(0, at.Y.High)), paper.Faded(.5), .5)
	}
	for _, row := range panel.Faint {
		at.Curve(c, p.millis, row, Stroke{Colour: paper.Faded(.25)})
	}
	for k, trace := range panel.Curves {
		if trace.Band == nil {
			continue
		}
		low, high := make([]float64, len(trace.Values)), make([]float64, len(trace.Values))
		for i, v := range trace.Values {
			low[i], high[i] = v-trace.Band[i], v+trace.Band[i]
		}
		at.band(c, p.millis, low, high, veil(styles[k].Colour))
	}
	for k, trace := range panel.Curves {
		at.Curve(c, p.millis, trace.Values, styles[k])
	}
	if p.traces.Places != nil {
		p.drawSmallAxes(c, at)
		return
	}
	at.DrawAxes(c)
	p.drawWindows(c, at)
}

// drawWindows draws the brackets below a chart.
func (p *TracesPlate) drawWindows(c vg.Canvas, at *Chart) {
	for i, w := range p.traces.Windows {
		top := p.bracketTop(at, i)
		from, to := at.Point(1000*w.From, at.Y.Low).X, at.Point(1000*w.To, at.Y.Low).X
		var path vg.Path
		path.Move(vg.Point{X: from, Y: top})
		path.Line(vg.Point{X: from, Y: top - bracketDepth})
		path.Line(vg.Point{X: to, Y: top - bracketDepth})
		path.Line(vg.Point{X: to, Y: top})
		paper.Stroke(c, path, paper.Ink, .6)
	}
}
