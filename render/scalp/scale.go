package scalp

import (
	"fmt"
	"image/color"
	"math"
	"strconv"
	"strings"

	"calotte/render/palette"
)

// niceLimits are the limits a scale may have, times a power of ten, and into
// how many steps each side is divided, from the finest to the coarsest.
var niceLimits = []struct {
	limit float64
	steps []int
}{
	{1, []int{5, 4, 2, 1}},
	{1.5, []int{5, 3, 1}},
	{2, []int{4, 2, 1}},
	{2.5, []int{5, 1}},
	{3, []int{6, 3, 1}},
	{4, []int{4, 2, 1}},
	{5, []int{5, 1}},
	{6, []int{6, 3, 2, 1}},
	{8, []int{4, 2, 1}},
	{10, []int{5, 4, 2, 1}},
}

// A Scale maps values to colours and contours. It is symmetric about zero, or
// begins there.
type Scale struct {
	// Of is what it is for where there are several, "known minus novel";
	// else empty.
	Of string
	// OneSided says that it begins at Floor, which is zero but for
	// agreement.
	OneSided bool
	Floor    float64
	// Limit is the value at the ends of the scale.
	Limit float64
	// Step is the distance of ticks and of contours.
	Step float64
	// Clipped is the share of the drawn area, 0 to 1, whose value lies
	// outside the limits and is drawn in the colour of the limit.
	Clipped float64
	Extremes
}

// NiceLimit rounds the largest magnitude outward to 1, 1.5, 2, 2.5, 3, 4, 5, 6
// or 8 times a power of ten.
func NiceLimit(magnitude float64) float64 {
	if !(magnitude > 0) || math.IsInf(magnitude, 1) {
		return 1
	}
	limit, _ := niceAbove(magnitude)
	return limit
}

func niceAbove(magnitude float64) (limit float64, steps []int) {
	exponent := int(math.Floor(math.Log10(magnitude)))
	for ; ; exponent++ { // again if the logarithm was rounded down
		for _, n := range niceLimits {
			// Decimal text, because 1.5·10⁻³ is not the float64
			// nearest to it.
			limit, err := strconv.ParseFloat(fmt.Sprintf("%ge%d", n.limit, exponent), 64)
			if err != nil {
				return magnitude, []int{1}
			}
			if limit >= magnitude*(1-1e-12) {
				return limit, n.steps
			}
		}
	}
}

// ContourStep divides a limit evenly, into as many steps as are readable but
// none finer than twice the standard error, in the limit's unit. A standard
// error of zero or NaN is unknown and asks for nothing. Where twice the
// standard error exceeds the limit itself, it is the step, and no contour but
// that of zero lies within the limits.
func ContourStep(limit, standardError float64) float64 {
	nice, divisions := niceAbove(limit)
	if math.Abs(nice-limit) > 1e-9*limit {
		divisions = []int{4, 2, 1} // a limit chosen by hand, 7 say
	}
	for _, n := range divisions {
		if step := limit / float64(n); !(step < 2*standardError) {
			return step
		}
	}
	return 2 * standardError
}

// Contoured reports whether there are contours beside that of zero.
func (s Scale) Contoured() bool { return !(s.Step > s.Limit) }

// Ticks are the values of ticks from -Limit, or zero, to Limit, with the limits
// and zero always among them. Zero is exact and each negative value the exact
// opposite of a positive one.
func (s Scale) Ticks() []float64 {
	n := 1
	if s.Contoured() {
		n = int(math.Round((s.Limit - s.Floor) / s.Step))
	}
	if s.OneSided {
		ticks := make([]float64, n+1)
		for i := range ticks {
			ticks[i] = s.Floor + float64(i)/float64(n)*(s.Limit-s.Floor)
		}
		return ticks
	}
	ticks := make([]float64, 2*n+1)
	for i := range ticks {
		ticks[i] = float64(i-n) / float64(n) * s.Limit
	}
	return ticks
}

// Levels are the values of contours: those of the ticks, unless the step leaves
// only zero.
func (s Scale) Levels() []float64 {
	if !s.Contoured() {
		return []float64{0}
	}
	return s.Ticks()
}

// tolerance is how far a contour may be from its level.
func (s Scale) tolerance() float64 { return 1e-4 * s.Step }

// measureScales gives every row a scale: its limit where none is given, the
// extremes, and what it clips.
func (s *Sheet) measureScales(grids []Grid, panels []*panel) (scales []Scale, of []int) {
	of = make([]int, len(s.Rows))
	groups := s.scaleGroups()
	for k, rows := range groups {
		scale := Scale{Limit: s.Limit, OneSided: s.oneSided()}
		var own []*panel
		for _, row := range rows {
			of[row] = k
			own = append(own, panels[s.place(row, 0, 0):s.place(row+1, 0, 0)]...)
		}
		if len(groups) > 1 {
			scale.Of = s.titlesOf(rows)
		}
		scale.measure(s, grids, own)
		scales = append(scales, scale)
	}
	return scales, of
}

// scaleGroups are the rows that share a scale.
func (s *Sheet) scaleGroups() [][]int {
	var groups [][]int
	last := map[bool]int{} // of differences, and of the others: their group, from 1
	for i, r := range s.Rows {
		difference := r.Difference && s.Scaling == ScaleDifferences
		switch k := last[difference]; {
		case k == 0 || s.Scaling == ScalePerRow:
			groups = append(groups, []int{i})
			last[difference] = len(groups)
		default:
			groups[k-1] = append(groups[k-1], i)
		}
	}
	return groups
}

func (s *Sheet) titlesOf(rows []int) string {
	var titles []string
	for _, i := range rows {
		titles = append(titles, s.Rows[i].Title)
	}
	return strings.Join(titles, ", ")
}

func (s *Scale) measure(sheet *Sheet, grids []Grid, panels []*panel) {
	var list []Extremes
	for _, p := range panels {
		list = append(list, p.Extremes)
	}
	s.Extremes = Joined(list...)
	switch {
	case s.Limit > 0:
	case sheet.Shows == Agreement:
		s.count(sheet.agreeing())
	default:
		s.Limit = s.Extremes.Limit()
	}
	if sheet.Shows != Agreement {
		s.Step = ContourStep(s.Limit, sheet.StandardError)
	}
	if s.Below >= -s.Limit && s.Above <= s.Limit {
		return
	}
	inside, clipped := 0, 0
	for _, p := range panels {
		g := grids[p.view]
		for i, node := range g.Nodes {
			if p.reach.Drawn(i) {
				inside++
				if math.Abs(p.field.values[node]) > s.Limit {
					clipped++
				}
			}
		}
	}
	if inside > 0 {
		s.Clipped = float64(clipped) / float64(inside)
	}
}

// mostCounts is how many steps a scale of people has at most.
const mostCounts = 10

// count makes it a scale of how many of n agree, or of a share in % where n is
// zero, from the least that is drawn.
func (s *Scale) count(n int) {
	s.Limit, s.Step = float64(n), 1
	if n == 0 {
		s.Limit, s.Step = 100, 10
	}
	low := min(s.Below, s.Limit-s.Step)
	for n > 0 && (s.Limit-low)/s.Step > mostCounts {
		s.Step++
	}
	s.Floor = max(0, s.Limit-s.Step*math.Ceil((s.Limit-low)/s.Step-1e-9))
}

// colour is that of a value.
func (s Scale) colour(table palette.Table) func(v float64) color.RGBA {
	return func(v float64) color.RGBA { return table.At((v - s.Floor) / (s.Limit - s.Floor)) }
}
