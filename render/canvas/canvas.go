// Package canvas draws one figure to PNG, TIFF, SVG and PDF from the same code,
// and writes images of few colours as PNG, GIF and animated PNG.
//
// The formats look alike because all that can differ is settled here:
// lines have butt ends and round joins, a shape is what its winding number says
// (non-zero), text is set in one face without kerning, its baseline at the
// point given, and an uneven Scale changes a line's width by the root of its
// area. Colours are sRGB and may be transparent. SVG and PDF keep text as text.
// Each file carries the figure's title, description and provenance, and no
// date, so that the same figure makes the same bytes.
//
// # Decisions
//
// The raster canvas draws with gg, one context a clip over the pixels that the
// clip leaves (window.go); images are written straight into the pixels.
package canvas

import (
	"image"

	"gonum.org/v1/plot/vg"
)

// A Canvas is what a figure draws on: lengths in points from the lower left
// corner, y up. It adds to a vg.Canvas what a published figure needs and
// vg.Canvas lacks: named groups and clipping.
type Canvas interface {
	vg.Canvas

	// Group opens a group that End closes. The id names it in SVG, the
	// title is what a screen reader says; formats without groups ignore
	// both.
	Group(id, title string)
	End()

	// Clip restricts all drawing to the inside of p until the Pop that
	// matches the latest Push.
	Clip(p vg.Path)

	// Pixels returns the smallest rectangle of whole pixels that holds r,
	// and how many pixels it is wide and high. An image of that size drawn
	// into that rectangle is copied pixel for pixel. SVG and PDF count 300
	// pixels to the inch. Under a rotation r comes back as it is.
	Pixels(r vg.Rectangle) (vg.Rectangle, image.Point)
}

// A Figure knows its size and draws itself. Title and Description are what a
// screen reader or a document's information says of it.
type Figure interface {
	Size() (width, height vg.Length)
	Draw(c Canvas)
	Title() string
	Description() string
}
