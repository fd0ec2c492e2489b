package scalp

import (
	"fmt"
	"image/color"

	"gonum.org/v1/plot/palette"
)

// ColorMap are the colours of the map's bands from minus to plus its limit in
// µV, for a plotter.ColorBar. It does not follow later changes of the map.
func (m *Map) ColorMap() palette.ColorMap {
	c := m.drawn()
	return &bandColours{layers: c.layers, limit: c.scale.Limit, min: -c.scale.Limit, max: c.scale.Limit, alpha: 1}
}

// bandColours stretch the colours of a scale from min to max.
type bandColours struct {
	layers          layers
	limit           float64 // of the layers
	min, max, alpha float64
}

// At is the colour of the band that a value lies in.
func (b *bandColours) At(v float64) (color.Color, error) {
	if !(v >= b.min && v <= b.max) {
		return nil, fmt.Errorf("%g is no value of a scale from %g to %g", v, b.min, b.max)
	}
	c := b.layers.at(b.limit * (2*(v-b.min)/(b.max-b.min) - 1))
	return color.NRGBA{R: c.R, G: c.G, B: c.B, A: uint8(255*b.alpha + .5)}, nil
}

// at is the colour of a value.
func (l layers) at(v float64) color.RGBA {
	colour := l.ground
	for _, step := range l.steps {
		if step.upper == (v >= step.level) {
			colour = step.colour
		}
	}
	return colour
}

func (b *bandColours) Max() float64     { return b.max }
func (b *bandColours) SetMax(v float64) { b.max = v }
func (b *bandColours) Min() float64     { return b.min }
func (b *bandColours) SetMin(v float64) { b.min = v }
func (b *bandColours) Alpha() float64   { return b.alpha }

// SetAlpha panics where it is given no share.
func (b *bandColours) SetAlpha(alpha float64) {
	if !(alpha >= 0 && alpha <= 1) {
		panic(fmt.Sprintf("scalp: an opacity of %g: expected 0 to 1", alpha))
	}
	b.alpha = alpha
}

// Palette is colours at even steps, the ends among them.
func (b *bandColours) Palette(colours int) palette.Palette {
	var list colourList
	for i := range colours {
		share := .5
		if colours > 1 {
			share = float64(i) / float64(colours-1)
		}
		c, err := b.At(min(b.max, b.min+share*(b.max-b.min)))
		if err != nil {
			panic(err) // it lies between the ends
		}
		list = append(list, c)
	}
	return list
}

type colourList []color.Color

func (l colourList) Colors() []color.Color { return l }
