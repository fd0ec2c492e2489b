package cap

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"calotte/layout"
	"calotte/layout/capcheck"
	"calotte/render/paper"
	"calotte/topo/measure"
)

// verdict is the finding in one sentence, without a full stop.
func (c *Cap) verdict() string {
	k := &c.Check
	if k.Swap != capcheck.NoSwap {
		return upperFirst(k.Swap.String())
	}
	n, things := len(k.Sites), "electrodes"
	if n == 0 {
		n, things = len(k.Tapes), "tapes"
	}
	if k.Limit == 0 {
		text := fmt.Sprintf("%d %s measured, no limit given", n, things)
		if len(k.Exchanges) > 0 {
			text = exchangedText(k.Exchanges) + "; " + text
		}
		return text
	}
	limit := fmt.Sprintf("%s\u00a0mm", paper.Number(k.Limit, 3))
	switch over := len(k.Beyond); {
	case over == 0:
		return fmt.Sprintf("all %d %s within %s of their place", n, things, limit)
	case len(k.Exchanges) > 0:
		return fmt.Sprintf("%s; %d of %d %s more than %s off", exchangedText(k.Exchanges), over, n, things,
			limit)
	default:
		return fmt.Sprintf("%d of %d %s more than %s off", over, n, things, limit)
	}
}

func exchangedText(list []capcheck.Exchange) string {
	if len(list) == 1 {
		return list[0].Sites[0] + " and " + list[0].Sites[1] + " exchanged"
	}
	return fmt.Sprintf("%d pairs exchanged", len(list))
}

func upperFirst(text string) string { return strings.ToUpper(text[:1]) + text[1:] }

// typeset gives text from other packages this one's apostrophes, and holds
// numbers to their units.
func typeset(text string) string {
	return strings.NewReplacer("'", "’", " mm", "\u00a0mm", " cm", "\u00a0cm").Replace(text)
}

// An angleLine says one of the three angles.
type angleLine struct{ name, degrees, words string }

// angles tells the turn in degrees and in millimetres at the edge that shows
// it.
func (c *Cap) angles() []angleLine {
	radius := map[layout.Name]float64{}
	for _, e := range c.Check.Edges {
		radius[e.Site] = e.Radius
	}
	var lines []angleLine
	for _, a := range [...]struct {
		name               string
		angle              capcheck.Angle
		edge               layout.Name
		what               string
		positive, negative string // where that is
	}{
		{"pitch", c.Check.Turn.Pitch, "Cz", "vertex", "too far back", "too far forward"},
		{"roll", c.Check.Turn.Roll, "Cz", "vertex", "too far right", "too far left"},
		{"yaw", c.Check.Turn.Yaw, "Fpz", "front edge", "too far left", "too far right"},
	} {
		if !a.angle.Known {
			lines = append(lines, angleLine{a.name, "not known", "not seen by these tapes"})
			continue
		}
		scale := radius[a.edge] * math.Pi / 180
		amount := math.Abs(a.angle.Degrees) * scale
		where := a.positive
		switch {
		case amount < .05:
			where = "off"
		case a.angle.Degrees < 0:
			where = a.negative
		}
		lines = append(lines, angleLine{
			a.name,
			fmt.Sprintf("%s° ± %.1f°", layout.SignedTenths(a.angle.Degrees), a.angle.Error),
			fmt.Sprintf("%s %.1f ± %.1f\u00a0mm %s", a.what, amount, a.angle.Error*scale, where),
		})
	}
	return lines
}

// tapes lists the readings that a check by tapes rests on.
func (c *Cap) tapes() []string {
	var lines []string
	for _, t := range c.Check.Tapes {
		line := fmt.Sprintf("%s–%s %s\u00a0cm, should be %s\u00a0cm: %s\u00a0mm", t.From, t.To,
			layout.Centimetres(t.Distance), layout.Centimetres(t.Should), layout.SignedTenths(t.Off))
		if slices.Contains(c.Check.Beyond, t.String()) {
			line += ", beyond the limit"
		}
		lines = append(lines, line)
	}
	return lines
}

// mostFar is how many of the farthest electrodes the page lists.
const mostFar = 8

// farthest lists electrodes with their distance, the farthest first: those
// beyond the limit, or some without one.
func (c *Cap) farthest() string {
	k := &c.Check
	if k.Swap != capcheck.NoSwap {
		return ""
	}
	sites := slices.Clone(k.Sites)
	slices.SortStableFunc(sites, func(a, b capcheck.Site) int { return cmp.Compare(b.Along, a.Along) })
	shown := min(mostFar, len(sites))
	if k.Limit > 0 && len(k.Beyond) > 0 {
		shown = min(shown, len(k.Beyond))
	} else {
		shown = min(shown, 3)
	}
	var items []string
	for _, s := range sites[:shown] {
		items = append(items, fmt.Sprintf("%s\u00a0%.0f\u00a0mm", s.Name, s.Along))
	}
	if len(items) == 0 || sites[0].Along < .5 {
		return ""
	}
	text := "Farthest off: " + strings.Join(items, ", ")
	if more := len(k.Beyond) - shown; k.Limit > 0 && more > 0 {
		text += fmt.Sprintf(", and %d more beyond the limit", more)
	}
	return text + "."
}

// medians say how far the electrodes are off in the middle of the list, and how
// far in or out, which is not drawn.
func (c *Cap) medians() string {
	k := &c.Check
	if len(k.Sites) == 0 {
		return ""
	}
	var along, radial []float64
	for _, s := range k.Sites {
		along, radial = append(along, s.Along), append(radial, s.Radial)
	}
	text := fmt.Sprintf("Median %.1f\u00a0mm off; the", measure.Median(along))
	if k.Swap != capcheck.NoSwap {
		text = "The"
	}
	return fmt.Sprintf("%s turn leaves %.1f\u00a0mm (root mean square). Not drawn: the distance from the "+
		"head model, "+
		"in the median %s.", text, k.RMS, outward(measure.Median(radial)))
}

// outward says a distance along the radius.
func outward(v float64) string {
	text := fmt.Sprintf("%.1f\u00a0mm", math.Abs(v))
	switch {
	case layout.SignedTenths(v) == "0.0":
		return text
	case v < 0:
		return text + " inward"
	}
	return text + " outward"
}

// caption is what the reader must know beside the drawing, in sentences.
func (p *Plate) caption() []string {
	c := p.cap
	var lines []string
	say := func(format string, a ...any) { lines = append(lines, fmt.Sprintf(format, a...)) }
	if c.Synthetic {
		say("Synthetic data.")
	}
	say("Seen from above, nose at the top; left and right are the wearer’s.")
	if !p.drawing.swapped {
		say("Displacements are along the scalp.")
	}
	say("1\u00a0mm here is %s\u00a0mm of scalp from the vertex outward; sideways the map widens, by half "+
		"at the ring.",
		paper.Number(p.Millimetres, 2))
	say("Errors (±) are standard errors.")
	if n := len(c.Check.Uncompared); n > 0 {
		shown := c.Check.Uncompared[:min(n, mostFar)]
		text := strings.Join(shown, ", ")
		if more := n - len(shown); more > 0 {
			text += fmt.Sprintf(" and %d more", more)
		}
		say("Measured, but without an ideal place to compare with: %s.", text)
	}
	return append(lines, c.Remarks...)
}
