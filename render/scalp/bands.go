package scalp

import (
	"image/color"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/plot/vg"
)

// layers are the colours of a field in bands between levels, as they are laid
// over each other: on the ground first what lies above each level from zero
// upward, then what lies below each from there downward. Each step covers the
// one before from its level on, so that no gap shows between two.
type layers struct {
	ground color.RGBA
	steps  []layer
}

type layer struct {
	level  float64
	upper  bool
	colour color.RGBA
}

// newLayers gives each band the colour of its middle. What lies beyond the
// outermost levels has that of the middle between them and the limit.
func newLayers(levels []float64, limit float64, colour func(v float64) color.RGBA) layers {
	zero, _ := slices.BinarySearch(levels, 0)
	s := layers{ground: colour(middleBelow(levels, limit, zero))}
	for k := zero; k < len(levels); k++ {
		s.steps = append(s.steps, layer{levels[k], true, colour(middleBelow(levels, limit, k+1))})
	}
	for k := zero - 1; k >= 0; k-- {
		s.steps = append(s.steps, layer{levels[k], false, colour(middleBelow(levels, limit, k))})
	}
	return s
}

// layers of a scale: bands end at its ticks but zero. Where zero lies depends
// on the reference, and what is within one step of it may be noise: it has the
// colour of zero.
func (s Scale) layers(colour func(v float64) color.RGBA) layers {
	levels := s.Ticks()
	if !s.OneSided {
		levels = slices.DeleteFunc(levels, func(v float64) bool { return v == 0 })
	}
	return newLayers(levels, s.Limit, colour)
}

// middleBelow is the value in the middle of the band below the k-th level, or
// above the last.
func middleBelow(levels []float64, limit float64, k int) float64 {
	low, high := -limit, limit
	switch {
	case k > 0:
		low = levels[k-1]
	case len(levels) > 0:
		low = min(low, levels[0])
	}
	switch {
	case k < len(levels):
		high = levels[k]
	case len(levels) > 0:
		high = max(high, levels[k-1])
	}
	return (low + high) / 2
}

// A fill is an area in one colour.
type fill struct {
	path   vg.Path
	colour color.RGBA
}

// bands lays the field out in bands, each fill over those before.
func (p *panel) bands(at Frame, land territory, s layers, tolerance float64) []fill {
	levels := make([]float64, len(s.steps))
	for i, step := range s.steps {
		levels[i] = step.level
	}
	fills := []fill{{at.path([]Line{{Points: land.border, Closed: true}}), s.ground}}
	for i, contours := range p.field.trace(levels, p.refinement(), tolerance) {
		reaches := func(at r2.Vec) bool { return p.field.At(at) >= levels[i]-tolerance }
		if rings := land.rings(contours, s.steps[i].upper, reaches); len(rings) > 0 {
			fills = append(fills, fill{at.path(rings), s.steps[i].colour})
		}
	}
	return fills
}
