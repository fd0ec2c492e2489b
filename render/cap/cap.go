package cap

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/plot/vg"

	"calotte/layout"
	"calotte/layout/capcheck"
	"calotte/layout/head"
	"calotte/render/paper"
)

// A Cap is the figure of how a cap sits: the head from above, where its
// electrodes belong and where they are, and what to do about it. Compose checks
// it and lays out the page.
//
// What is wrong is drawn as lines from an open circle, the place where an
// electrode belongs, to a filled mark where it sits. Arrows are kept for what
// to do, so that no arrow points away from where the cap has to go.
type Cap struct {
	// Title is set in bold on top: the wearer's code, the date. It may be
	// empty.
	Title string
	// Check is what capcheck.CheckSites or capcheck.CheckTapes found.
	Check capcheck.Check
	// Ideal are the sites that the cap was checked against. Of a check by
	// tapes they are the sites of the cap; nil then stands for the ring and
	// the vertex.
	Ideal []layout.Site
	// Head gives the outline the head's proportions; the zero value is a
	// sphere.
	Head head.Ellipsoid
	// Width of the figure, 80 mm or more; zero is 180 mm.
	Width vg.Length
	// Synthetic adds the words "synthetic data".
	Synthetic bool
	// Remarks are sentences added to the caption.
	Remarks []string
}

// A Plate is a Cap that is laid out. It is a canvas.Figure.
type Plate struct {
	// Enlarged is how many times the map's scale the ways from ideal to
	// measured places are drawn at. The legend says so.
	Enlarged float64
	// Millimetres along the scalp are one millimetre of the page, from the
	// vertex outward.
	Millimetres float64
	// Named lists the electrodes whose names found room, exchanged ones and
	// those beyond the limit first.
	Named []string

	cap     *Cap
	page    paper.Page
	drawing picture
	names   []name
	moves   []move
	signs   []sign
	middle  vg.Point
}

const leastCapWidth = 80 * paper.MM

// Compose checks the figure and lays out the page. The Cap must not change
// afterwards.
func (c *Cap) Compose() (*Plate, error) {
	if err := c.validate(); err != nil {
		return nil, err
	}
	sites, err := c.locate()
	if err != nil {
		return nil, err
	}
	p := &Plate{cap: c}
	p.layOut(sites)
	return p, nil
}

func (c *Cap) validate() error {
	if !(c.Width >= 0) || math.IsInf(float64(c.Width), 1) {
		return fmt.Errorf("the figure's width is %g: it must be a positive number, or zero for the default",
			c.Width)
	}
	if c.Width > 0 && c.Width < leastCapWidth {
		return fmt.Errorf("a figure of a cap %.0f mm wide has no room for its text: at least %.0f mm",
			c.Width/paper.MM,
			leastCapWidth/paper.MM)
	}
	if len(c.Check.Sites) == 0 && len(c.Check.Tapes) == 0 {
		return errors.New("the check holds neither sites nor tapes: give what CheckCap or CheckTapes returned")
	}
	if len(c.Check.Sites) == 0 && len(c.Check.Edges) == 0 {
		return errors.New("the check by tapes holds no edges: give what CheckTapes returned")
	}
	if h := c.Head; h != (head.Ellipsoid{}) &&
		!(h.Right > 0 && h.Front > 0 && h.Up > 0 && finite(r3.Vec{X: h.Right, Y: h.Front, Z: h.Up})) {
		return fmt.Errorf("a head with semi-axes of %g, %g and %g mm: expected positive lengths, or none "+
			"for a sphere",
			h.Right, h.Front, h.Up)
	}
	for _, s := range c.Ideal {
		if !finite(s.Position) || r3.Norm(s.Position) == 0 {
			return fmt.Errorf("site %q has no direction from the head's centre: its position is "+
				"(%g, %g, %g)",
				s.Name,
				s.Position.X, s.Position.Y, s.Position.Z)
		}
	}
	for _, s := range c.Check.Sites {
		if !finite(s.Off) {
			return fmt.Errorf("site %q is off by (%g, %g, %g) mm: expected finite numbers", s.Name, s.Off.X,
				s.Off.Y,
				s.Off.Z)
		}
	}
	for _, e := range c.Check.Edges {
		if !finite(e.Off) || !(e.Radius > 0) || math.IsInf(e.Radius, 1) {
			return fmt.Errorf("edge %q is off by (%g, %g, %g) mm at a radius of %g mm: expected "+
				"finite numbers",
				e.Site,
				e.Off.X, e.Off.Y, e.Off.Z, e.Radius)
		}
	}
	return nil
}

func finite(v r3.Vec) bool {
	sum := math.Abs(v.X) + math.Abs(v.Y) + math.Abs(v.Z)
	return sum < math.Inf(1)
}

// Size of the page, in whole picture elements.
func (p *Plate) Size() (width, height vg.Length) { return p.page.Width, p.page.Height }

// Title is the figure's own, or a plain one.
func (p *Plate) Title() string {
	if p.cap.Title != "" {
		return p.cap.Title
	}
	return "How the cap sits"
}

// Description says in words how the cap sits and what to do.
func (p *Plate) Description() string {
	lines := []string{p.cap.verdict() + "."}
	for i, a := range p.cap.Check.Advice {
		lines = append(lines, fmt.Sprintf("%d. %s.", i+1, typeset(a.String())))
	}
	for _, a := range p.cap.angles() {
		lines = append(lines, a.name+" "+a.degrees+": "+a.words+".")
	}
	return strings.Join(append(lines, p.caption()...), " ")
}
