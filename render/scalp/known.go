package scalp

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"calotte/render/paper"
	"calotte/topo"
)

// ErrorsText names errors in the plural.
func (s Showing) ErrorsText() string {
	switch s {
	case InterpolationErrors:
		return "errors of the interpolation"
	case AllErrors:
		return "errors of all kinds"
	}
	return "standard errors"
}

// spanText is values as "0.7" or "0.7–1.2".
func spanText(values []float64) string {
	least, most := paper.Number(slices.Min(values), 2), paper.Number(slices.Max(values), 2)
	if least == most {
		return least
	}
	return least + "–" + most
}

// territorySigns say what hatching and paper mean, where there are any.
func (p *Plate) territorySigns() []sign {
	var known, guessed []float64
	for _, k := range p.knowledge() {
		known, guessed = append(known, topo.KnownShare*k.Largest), append(guessed, topo.GuessedShare*k.Largest)
	}
	unit := "\u00a0µV"
	if p.sheet.Statistic != "" {
		unit = ""
	}
	var hatched, bare bool
	for _, f := range p.furniture {
		hatched, bare = hatched || len(f.hatch) > 0, bare || len(f.paper) > 0
	}
	overhang := p.sheet.Overhang
	if overhang == 0 {
		overhang = topo.Overhang
	}
	var signs []sign
	if hatched {
		text := "guessed: the interpolation may be off by over " + spanText(known) + unit
		if p.sheet.Extrapolate {
			text += fmt.Sprintf("; extrapolated, too, over %g\u00a0mm outside of the electrodes", overhang)
		}
		signs = append(signs, sign{sampleHatch, text})
	}
	if bare {
		signs = append(signs, sign{samplePaper, fmt.Sprintf(
			"not known: off by over %s%s, or over %g\u00a0mm outside of the electrodes",
			spanText(guessed), unit, overhang)})
	}
	return signs
}

// departingText names the ringed sites, the first few of them.
func (p *Plate) departingText() string {
	const most = 3
	var names []string
	for _, d := range p.Departing() {
		row := &p.sheet.Rows[d.Row]
		if d.Site >= len(row.Marks) {
			continue
		}
		text := fmt.Sprintf("%s at %s by %s times its error", row.Marks[d.Site].Site.Name,
			p.sheet.Columns[d.Column], paper.Number(math.Abs(d.Z), 2))
		if row.Title != "" && len(p.sheet.Rows) > 1 {
			text = row.Title + ", " + text
		}
		names = append(names, text)
	}
	if names == nil {
		return ""
	}
	if extra := len(names) - most; extra > 0 {
		names = append(names[:most], fmt.Sprintf("and %d more", extra))
	}
	return "departs from what the other sites predict (by chance on 1 map in 100): " + strings.Join(names, "; ")
}

// extremeText says where an extreme lies between or beyond the electrodes, and
// is worth more than what they have.
func (p *Plate) extremeText() string {
	if p.sheet.Shows != Amplitudes || p.sheet.tested() {
		return ""
	}
	const worth = .05 // of the largest magnitude
	var texts []string
	for _, scale := range p.Scales {
		allowed := worth * max(-scale.Least, scale.Greatest)
		for _, e := range []struct {
			which         string
			drawn, at     float64
			isMoreExtreme bool
		}{
			{"lowest", scale.Least, scale.atLeast, scale.Least < scale.atLeast-allowed},
			{"highest", scale.Greatest, scale.atGreatest, scale.Greatest > scale.atGreatest+allowed},
		} {
			if e.isMoreExtreme {
				texts = append(texts, scale.within("The %s value, %s, lies between or beyond the "+
					"electrodes, "+
					"of which the %s has %s.", e.which, p.sheet.amount(e.drawn), e.which,
					p.sheet.amount(e.at)))
			}
		}
	}
	return strings.Join(texts, " ")
}

// unknownText says on which maps the electrodes know nothing, and that there
// are too few of them to say how wrong the interpolation may be.
func (p *Plate) unknownText() string {
	var rows []string
	indicative, noisy := false, false
	for i, k := range p.knowledge() {
		indicative, noisy = indicative || k.Rough.Indicative, noisy || k.Rough.Noisy()
		knows := false
		for view := range p.sheet.views() {
			knows = knows || p.panels[p.sheet.place(i, view, 0)].reach.Knows
		}
		if !knows {
			rows = append(rows, p.sheet.Rows[i].Title)
		}
	}
	var texts []string
	if rows != nil {
		texts = append(texts, fmt.Sprintf("%s: nowhere between the electrodes is the field known.",
			strings.Join(rows, ", ")))
	}
	if noisy {
		texts = append(texts, "Neighbouring electrodes differ as if by chance, which does not tell "+
			"how wrong the "+
			"field between them is.")
	}
	if indicative {
		texts = append(texts, "With fewer than 8 electrodes what is known and guessed is indicative only.")
	}
	return strings.Join(texts, " ")
}
