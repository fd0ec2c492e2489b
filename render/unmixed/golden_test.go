package unmixed_test

import (
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"

	"calotte/render/canvas"
	"calotte/render/internal/figtest"
	"calotte/render/paper"
	"calotte/render/unmixed"
)

// The examples look as they did when they were looked at.
func TestPictures(t *testing.T) {
	discard := draw
	defer func() { draw = discard }()
	draw = func(f canvas.Figure, name string) error {
		figtest.CheckGolden(t, name, f)
		return nil
	}
	ExampleSheet_Pages()
	ExampleChange_Compose()
}

// No text leaves the page or touches another, and every component is on a page.
func TestTextsHaveRoom(t *testing.T) {
	s := invented()
	for range 10 {
		s.Rows = append(s.Rows, s.Rows[1])
	}
	pages, err := s.Pages()
	if err != nil || len(pages) != 2 {
		t.Fatalf("%d pages, %v", len(pages), err)
	}
	drawn := 0
	for _, p := range pages {
		boxes, err := canvas.Boxes(p)
		if err != nil {
			t.Fatal(err)
		}
		width, height := p.Size()
		var texts []canvas.Box
		for _, b := range boxes {
			if b.Kind != canvas.Text {
				continue
			}
			texts = append(texts, b)
			if b.Rect.Min.X < 0 || b.Rect.Max.X > width || b.Rect.Min.Y < 0 || b.Rect.Max.Y > height {
				t.Errorf("%q leaves the page", b.Text)
			}
			if strings.HasPrefix(b.Text, "2 none") || strings.HasPrefix(b.Text, "1 eye") {
				drawn++
			}
		}
		for i, a := range texts {
			for _, b := range texts[:i] {
				if paper.Overlap(paper.Grown(a.Rect, -vg.Length(.5)),
					paper.Grown(b.Rect, -vg.Length(.5))) {
					t.Errorf("%q touches %q", a.Text, b.Text)
				}
			}
		}
	}
	if drawn != 12 {
		t.Errorf("%d components drawn, want 12", drawn)
	}
}

func TestRefusesNothing(t *testing.T) {
	if _, err := (&unmixed.Sheet{}).Pages(); err == nil {
		t.Error("a sheet without components")
	}
	if _, err := (&unmixed.Change{Sites: []string{"Fz"}}).Compose(); err == nil {
		t.Error("a change without data")
	}
}
