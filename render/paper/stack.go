package paper

import (
	"errors"
	"fmt"
	"strings"

	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
)

// A Stack is figures below each other on one page.
type Stack struct {
	Name    string
	Figures []canvas.Figure
}

// Validate refuses a stack of nothing, and figures of different widths.
func (s *Stack) Validate() error {
	if len(s.Figures) == 0 {
		return errors.New("a stack of no figures: give one or more")
	}
	first, _ := s.Figures[0].Size()
	for _, f := range s.Figures {
		if width, _ := f.Size(); width != first {
			return fmt.Errorf("figures %.1f and %.1f pt wide cannot be stacked: make them of one width",
				first,
				width)
		}
	}
	return nil
}

// Size of the page.
func (s *Stack) Size() (width, height vg.Length) {
	for _, f := range s.Figures {
		w, h := f.Size()
		width, height = w, height+h
	}
	return width, height
}

// Title is the stack's name.
func (s *Stack) Title() string { return s.Name }

// Description is that of all its figures.
func (s *Stack) Description() string {
	var texts []string
	for _, f := range s.Figures {
		texts = append(texts, f.Description())
	}
	return strings.Join(texts, " ")
}

// Draw draws the figures from the top.
func (s *Stack) Draw(c canvas.Canvas) {
	_, y := s.Size()
	for i, f := range s.Figures {
		_, height := f.Size()
		y -= height
		c.Group(fmt.Sprintf("part-%d", i+1), f.Title())
		c.Push()
		c.Translate(vg.Point{Y: y})
		f.Draw(c)
		c.Pop()
		c.End()
	}
}
