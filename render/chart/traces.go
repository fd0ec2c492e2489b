package chart

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/plot/vg"

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
