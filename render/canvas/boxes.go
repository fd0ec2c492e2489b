package canvas

import (
	"image"
	"image/color"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"
)

// A Box is the place of one thing drawn, for tests of a layout: that nothing
// overlaps and nothing leaves the page.
type Box struct {
	Kind  Kind
	Group string       // ids of the open groups, outermost first: "map-1/labels"
	Text  string       // of a Text
	Rect  vg.Rectangle // on the page, lower left corner at the origin
}

// A Kind is what a Box holds.
type Kind int

const (
	Text   Kind = iota // Rect holds the ink of the letters
	Fill               // Rect holds the path
	Stroke             // Rect holds the line in its width; round joins need no more
	Image
)

// Boxes draws a figure and returns the places of all that shows, in the order
// drawn. Clips cut the rectangles by their own rectangles.
func Boxes(f Figure) ([]Box, error) {
	_, height := f.Size()
	r := &recorder{letters: newLetterer()}
	if err := newDrawing(r, identity, float64(height), dpi).render(f); err != nil {
		return nil, err
	}
	return r.boxes, nil
}

// Overlaps tells whether two boxes share more than an edge.
func (b Box) Overlaps(o Box) bool {
	return b.Rect.Min.X < o.Rect.Max.X && o.Rect.Min.X < b.Rect.Max.X &&
		b.Rect.Min.Y < o.Rect.Max.Y && o.Rect.Min.Y < b.Rect.Max.Y
}

// Within tells whether a box lies on a page of a size.
func (b Box) Within(width, height vg.Length) bool {
	return b.Rect.Min.X >= 0 && b.Rect.Min.Y >= 0 && b.Rect.Max.X <= width && b.Rect.Max.Y <= height
}

// A recorder is the device that keeps boxes.
type recorder struct {
	boxes   []Box
	groups  []string
	letters *letterer
}

func (r *recorder) add(kind Kind, text string, b box, k *clip) {
	for ; k != nil; k = k.outer {
		b = b.within(k.o.bounds())
	}
	if b.empty() {
		return
	}
	r.boxes = append(r.boxes, Box{
		Kind: kind, Group: strings.Join(r.groups, "/"), Text: text,
		Rect: vg.Rectangle{
			Min: vg.Point{X: vg.Length(b.x0), Y: vg.Length(b.y0)},
			Max: vg.Point{X: vg.Length(b.x1), Y: vg.Length(b.y1)},
		},
	})
}

func (r *recorder) fill(o outline, _ color.NRGBA, k *clip) { r.add(Fill, "", o.bounds(), k) }

func (r *recorder) stroke(o outline, p pen, k *clip) {
	r.add(Stroke, "", o.bounds().grown(p.width/2), k)
}

func (r *recorder) text(t lettering, _ color.NRGBA, k *clip) {
	r.add(Text, t.text, r.letters.outline(t).bounds(), k)
}

func (r *recorder) picture(_ image.Image, m affine, k *clip) { r.add(Image, "", unitSquare(m), k) }

func (r *recorder) open(id, _ string) { r.groups = append(r.groups, id) }
func (r *recorder) close()            { r.groups = slices.Delete(r.groups, len(r.groups)-1, len(r.groups)) }
