package palette

import (
	"image"
	"image/color"
	"math"
)

// A Table holds the colours of values from minus to plus one scale limit
// at equal steps. Its length is odd: the middle is zero.
type Table []color.RGBA

const Steps = 512 // on each side of zero

// NewTable asks for the colour of each step, from −1 to 1.
func NewTable(colour func(v float64) color.RGBA) Table {
	t := make(Table, 2*Steps+1)
	for i := range t {
		t[i] = colour(float64(i-Steps) / Steps)
	}
	return t
}

// At is the colour of a value in units of the limit.
func (t Table) At(v float64) color.RGBA { return t[t.Index(v*Steps)] }

// Index is the place of a value in units of the table's steps.
func (t Table) Index(v float64) int {
	switch {
	case v >= Steps:
		return 2 * Steps
	case v > -Steps:
		return int(v + Steps + .5)
	}
	return 0
}

// weak is the share of its strength that a pale colour keeps.
const weak = .4

// Pale is the same colours nearer to that of zero: not nearer to white, which
// in grey is the highest value.
func (t Table) Pale() Table {
	zero, out := t.At(0), make(Table, len(t))
	part := func(v, z uint8) uint8 { return uint8(math.Round(float64(z) + weak*(float64(v)-float64(z)))) }
	for i, c := range t {
		out[i] = color.RGBA{R: part(c.R, zero.R), G: part(c.G, zero.G), B: part(c.B, zero.B), A: c.A}
	}
	return out
}

// Bar is one row of all colours.
func Bar(table Table) image.Image {
	img := image.NewRGBA(image.Rect(0, 0, len(table), 1))
	for i, colour := range table {
		img.SetRGBA(i, 0, colour)
	}
	return img
}
