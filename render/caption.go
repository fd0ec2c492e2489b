package render

import (
	"fmt"
	"math"
	"strings"

	"calotte/topo"
)

// quantityText is the quantity and its unit, as on the colour bar.
func (s *Sheet) quantityText() string {
	if s.T {
		return "t, the mean potential over its standard error"
	}
	return s.quantityName() + ", " + s.unit()
}

func (s *Sheet) quantityName() string {
	switch {
	case s.T:
		return "t"
	case s.Quantity == topo.CurrentDensity:
		return "current density (csd)"
	}
	return "potential"
}

// unit is empty for t, which has none.
func (s *Sheet) unit() string {
	if s.T {
		return ""
	}
	if s.Quantity == topo.CurrentDensity {
		return "µV/cm²"
	}
	return "µV"
}

// amount is a value with its unit.
func (s *Sheet) amount(v float64) string {
	if s.unit() == "" {
		return number(v, 3)
	}
	return number(v, 3) + "\u00a0" + s.unit()
}

// caption is what the reader must know beside the maps, in sentences.
func (p *Plate) caption() []string {
	s := p.sheet
	var lines []string
	say := func(format string, a ...any) { lines = append(lines, fmt.Sprintf(format, a...)) }
	if s.Synthetic {
		say("Synthetic data.")
	}
	say("Seen from above, nose at the top; left and right are the wearer’s.")
	if s.Reference == "" {
		say("Reference not known.")
	} else {
		say("Reference: %s.", s.Reference)
	}
	if s.Digitised {
		say("Electrode positions: digitised.")
	} else {
		say("Electrode positions: ideal, by the head model.")
	}
	if s.Quantity == topo.CurrentDensity {
		say("csd: an estimate from the surface Laplacian; sources are positive.")
	}
	if s.T {
		say("t: %s, with the full covariance of the sites; what the interpolation may be wrong by is not in it. Uncorrected for the many places and times.", p.freedomText())
	}
	lines = append(lines, p.contourText())
	if p.Scale.Clipped > 0 {
		say("Clipped at ±%s: %s of the area; the extremes are %s and %s.", s.amount(p.Scale.Limit),
			percent(p.Scale.Clipped), number(p.Scale.Least, 3), s.amount(p.Scale.Greatest))
	}
	if s.BaselinePower > 0 {
		say("Field power in the baseline: %s.", number(s.BaselinePower, 2)+"\u00a0µV")
	}
	if text := p.flatText(); text != "" {
		lines = append(lines, text)
	}
	return append(lines, s.Remarks...)
}

func (p *Plate) contourText() string {
	s := p.sheet
	if !p.Scale.Contoured() {
		return fmt.Sprintf("No contour but zero, grey: the scale ends below twice the median standard error, which is %s\u00a0%s.",
			number(s.StandardError, 2), s.unit())
	}
	text := "Contours every " + s.amount(p.Scale.Step) + ", negative dashed"
	if s.Quantity == topo.Potential {
		text += ", zero grey"
	}
	if s.StandardError > 0 && !s.T {
		text += fmt.Sprintf("; the median standard error is %s\u00a0%s", number(s.StandardError, 2), s.unit())
	}
	return text + "."
}

// freedomText names the degrees of freedom, by row where they differ.
func (p *Plate) freedomText() string {
	var texts []string
	same := true
	for _, r := range p.sheet.Rows {
		same = same && r.Freedom == p.sheet.Rows[0].Freedom
		texts = append(texts, fmt.Sprintf("%d (%s)", r.Freedom, r.Title))
	}
	if same {
		return fmt.Sprintf("%d degrees of freedom", p.sheet.Rows[0].Freedom)
	}
	return strings.Join(texts, ", ") + " degrees of freedom"
}

// percent is a share of an area, never rounded to nothing.
func percent(share float64) string {
	if share < .001 {
		return "less than 0.1\u00a0%"
	}
	return number(math.Round(share*1000)/10, 3) + "\u00a0%"
}

// flatText names the maps without any difference between sites.
func (p *Plate) flatText() string {
	const most = 3
	var names []string
	for _, m := range p.panels {
		if m.flat {
			names = append(names, fmt.Sprintf("%s (%s)", p.panelName(m), p.sheet.amount(m.field.values[0])))
		}
	}
	if len(names) == 0 {
		return ""
	}
	text := "All sites have the same value, so the map is flat: "
	if len(names) > most {
		return fmt.Sprintf("%s%s and %d more.", text, strings.Join(names[:most], "; "), len(names)-most)
	}
	return text + strings.Join(names, "; ") + "."
}

// panelName is the row's title and the latency.
func (p *Plate) panelName(m *panel) string {
	title, latency := p.sheet.Rows[m.row].Title, p.sheet.Columns[m.column]
	switch {
	case title == "":
		return latency
	case latency == "":
		return title
	}
	return title + ", " + latency
}
