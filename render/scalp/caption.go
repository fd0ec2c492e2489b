package scalp

import (
	"fmt"
	"strings"

	"calotte/render/paper"
	"calotte/topo"
)

// QuantityText is the quantity and its unit, as on the colour bar.
func (s *Sheet) QuantityText() string {
	if s.Statistic != "" {
		return s.Statistic
	}
	switch s.Shows {
	case TValues:
		return "t, the mean potential over its standard error"
	case StandardErrors:
		return "standard error of the mean potential, µV"
	case Agreement:
		if n := s.agreeing(); n > 0 {
			return fmt.Sprintf("same sign as the mean, of %d %s", n, s.over())
		}
		return "same sign as the mean, % of " + s.over()
	case InterpolationErrors:
		return "error of the interpolated potential, µV"
	case AllErrors:
		return "error of the potential, µV"
	}
	return s.quantityName() + ", " + s.unit()
}

func (s *Sheet) quantityName() string {
	switch {
	case s.Statistic != "":
		return s.Statistic
	case s.Shows == TValues:
		return "t"
	case s.Shows == StandardErrors:
		return "the standard error"
	case s.Shows == Agreement:
		return "agreement"
	case s.Shows == InterpolationErrors:
		return "the error of the interpolation"
	case s.Shows == AllErrors:
		return "the error of the potential"
	case s.Quantity == topo.CurrentDensity:
		return "current density (csd)"
	}
	return "potential"
}

// unit is empty for t, which has none.
func (s *Sheet) unit() string {
	switch {
	case s.Shows == TValues || s.Statistic != "":
		return ""
	case s.Shows == Agreement:
		return "%"
	case s.Quantity == topo.CurrentDensity:
		return "µV/cm²"
	}
	return "µV"
}

// amount is a value with its unit.
func (s *Sheet) amount(v float64) string {
	if n := s.agreeing(); n > 0 {
		return fmt.Sprintf("%s of %d", paper.Number(v, 3), n)
	}
	if s.unit() == "" {
		return paper.Number(v, 3)
	}
	return paper.Number(v, 3) + "\u00a0" + s.unit()
}

// caption is what the reader must know beside the maps, in sentences.
func (p *Plate) caption() []string {
	s := p.sheet
	var lines []string
	say := func(format string, a ...any) { lines = append(lines, fmt.Sprintf(format, a...)) }
	if s.Synthetic {
		say("Synthetic data.")
	}
	say("%s", s.viewText())
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
	switch s.Shows {
	case TValues:
		say("t: %s, with the full covariance of the sites; what the interpolation may be wrong by is "+
			"not in it. "+
			"Uncorrected for the many places and times.", p.freedomText())
	case StandardErrors:
		say("Standard error: with the full covariance of the sites; what the interpolation may be wrong by " +
			"is not in it.")
	case InterpolationErrors:
		say("Error of the interpolation: one standard deviation of how far the drawn field may be from the " +
			"true one, by how rough the measured field is; errors of sampling and of placement are " +
			"not in it.")
	case AllErrors:
		say("Error: the root of the sum of the squares of the errors %s.", s.ErrorsIn())
	case Agreement:
		say("Agreement: of all %s, those whose value has the sign of the mean; where the mean is near zero it "+
			"is near half by chance. Uncorrected.", s.over())
	}
	if len(p.Scales) > 1 {
		say("Scales differ: the same colour is not the same value in all rows.")
	}
	lines = append(lines, p.contourTexts()...)
	if s.Form == Bands {
		say("Each band of the scale has the colour of its middle.")
	}
	for _, scale := range p.Scales {
		if scale.Clipped > 0 {
			say("%s", scale.within("Clipped at %s: %s of the area; the extremes %s are %s and %s.",
				scale.ends(s), paper.Percent(scale.Clipped), s.extremesAre(),
				paper.Number(scale.Least, 3), s.amount(scale.Greatest)))
		}
	}
	if s.BaselinePower > 0 {
		say("Field power in the baseline: %s.", paper.Number(s.BaselinePower, 2)+"\u00a0µV")
	}
	if s.Shows == Amplitudes && s.Statistic == "" && p.LeftOut > 0 {
		say("Sites left out one at a time are predicted to %s µV (root mean square).",
			paper.Number(p.LeftOut, 2))
	}
	for _, text := range []string{p.extremeText(), p.unknownText(), p.flatText()} {
		if text != "" {
			lines = append(lines, text)
		}
	}
	return append(lines, s.Remarks...)
}

// ErrorsIn names which errors are in those of all.
func (s *Sheet) ErrorsIn() string {
	for _, r := range s.Rows {
		if r.Placement == nil {
			return "of sampling and of the interpolation; that of placement is not in it"
		}
	}
	return "of sampling, of the interpolation and of placement"
}

// extremesAre says where extremes are taken from.
func (s *Sheet) extremesAre() string {
	if s.tested() {
		return "at the electrodes"
	}
	return "where the field is known"
}

// Amount is a value as the sheet's texts have it, with its unit.
func (p *Plate) Amount(v float64) string { return p.sheet.amount(v) }

// within is a sentence about a scale, which begins with what it is for where
// there are several.
func (s Scale) within(format string, a ...any) string {
	text := fmt.Sprintf(format, a...)
	if s.Of != "" {
		return s.Of + ": " + strings.ToLower(text[:1]) + text[1:]
	}
	return text
}

// ends are the limits with their unit.
func (s Scale) ends(sheet *Sheet) string {
	if s.OneSided {
		return sheet.amount(s.Limit)
	}
	return "±" + sheet.amount(s.Limit)
}

// viewText says where from the head is seen.
func (s *Sheet) viewText() string {
	text := "Seen from " + fromText(s.views())
	if s.views()[0] == Top {
		text += ", nose at the top"
		if s.Spacing != Equidistant {
			text += ", in " + s.Spacing.String() + " projection"
		}
	}
	return text + "; left and right are the wearer’s."
}

// contourTexts say which contours there are; all scales share the words on
// signs and noise.
func (p *Plate) contourTexts() []string {
	s := p.sheet
	var texts []string
	signs := ""
	if !s.oneSided() {
		signs = ", negative dashed"
	}
	noise := ""
	if s.StandardError > 0 && s.Shows == Amplitudes {
		noise = fmt.Sprintf("; the median standard error is %s %s", paper.Number(s.StandardError, 2), s.unit())
	}
	for _, scale := range p.Scales {
		if scale.Contoured() {
			texts = append(texts, scale.within("Contours every %s%s%s%s.", s.amount(scale.Step), signs,
				p.zeroText(scale), noise))
			continue
		}
		texts = append(texts, scale.within("No contour but zero, grey: the scale ends below twice the median "+
			"standard error, which is %s %s.",
			paper.Number(s.StandardError, 2), s.unit()))
	}
	return texts
}

// zeroText says which maps have a line at zero.
func (p *Plate) zeroText(scale Scale) string {
	if !p.sheet.zeroDrawn() {
		return ""
	}
	for _, m := range p.panels {
		if p.scale(m) == scale && !m.flat && !m.reaches(scale.Step) {
			return ", zero grey where a map reaches another"
		}
	}
	return ", zero grey"
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

// flatText names the maps without any difference between sites.
func (p *Plate) flatText() string {
	const most = 3
	var names []string
	for _, m := range p.panels {
		if m.flat {
			names = append(names, fmt.Sprintf("%s (%s)", p.panelName(m), p.sheet.amount(m.Least)))
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
