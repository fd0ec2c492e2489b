package guide

import (
	"math"
	"slices"
	"strings"
	"testing"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/canvas"
)

// Halves that were measured apart: every sheet gives each side its own number.
func TestUnequalHalves(t *testing.T) {
	h := heads[5]
	p := planOf(t, h, Options{})
	for _, c := range []struct {
		from, to layout.Name
		want     float64
	}{
		{"Fpz", "F7", .3 * h.Halves.LeftRing}, {"Fpz", "F8", .3 * h.Halves.RightRing}, // fifths of a quarter
		{"Oz", "P7", .3 * h.Halves.LeftRing}, {"LPA", "Cz", h.Halves.LeftEar}, {"RPA", "Cz", h.Halves.RightEar},
	} {
		if got, ok := p.between([2]layout.Name{c.from, c.to}); !ok || math.Abs(got-c.want) > 1e-6 {
			t.Errorf("%s to %s: %.4f mm, want %.4f", c.from, c.to, got, c.want)
		}
	}
	for _, c := range []struct {
		head        head.Head
		title       string
		has, hasNot []string
	}{
		{h, "Cap: six checks", []string{"17.2", "16.8"}, []string{"17.0"}},
		{someHead, "Cap: six checks", []string{"17.0"}, []string{"17.2"}},
		{h, "Distances on this head", []string{"17.2", "16.8"}, []string{"15\u00a0%"}},
		{someHead, "Distances on this head", []string{"15\u00a0%", "25\u00a0%"}, nil},
	} {
		for _, f := range pages(t, c.head, Options{}) {
			if f.Title() != c.title {
				continue
			}
			text := strings.Fields(strings.Join(said(t, []canvas.Figure{f}), " "))
			text = append(text, said(t, []canvas.Figure{f})...)
			for _, want := range c.has {
				if !slices.Contains(text, want) {
					t.Errorf("%s, %s: %q is missing", c.head.Wearer, c.title, want)
				}
			}
			for _, not := range c.hasNot {
				if slices.Contains(text, not) {
					t.Errorf("%s, %s: %q is untrue", c.head.Wearer, c.title, not)
				}
			}
		}
	}
	all := strings.Join(said(t, pages(t, h, Options{})), " ")
	if strings.Contains(all, "15\u00a0%") || strings.Contains(all, "half of ear to ear") {
		t.Error("shares of the whole are given for unequal halves")
	}
}

// What was found stands on the first sheet, and what the tape read beside its
// mean.
func TestFirstSheetRepeatsTheVisit(t *testing.T) {
	v := someHead.Visit()
	v.Readings.NasionInion = []float64{363, 367}
	v.Notes = []head.Note{
		{Kind: head.SkullDefect, Side: layout.LeftSide, Place: "above the ear, 4 cm"},
		{Kind: head.InionUncertain, Side: layout.Midline},
	}
	figures, err := Pages(surface(t, someHead), v, Options{})
	if err != nil {
		t.Fatal(err)
	}
	first := strings.Join(said(t, figures[:1]), " ")
	for _, want := range []string{"skull defect, wearer’s left: above the ear, 4\u00a0cm; inion uncertain",
		"36.3, 36.7", "36.5"} {
		if !strings.Contains(first, want) {
			t.Errorf("the first sheet lacks %q: %s", want, first)
		}
	}
}

// Notes of the greatest length, of every kind and side, leave a guide that has
// them all: in short on the first sheet, in full on its back or after it.
func TestLongNotes(t *testing.T) {
	v := someHead.Visit()
	place := strings.Repeat("behind the ear, ", 12) + "to feel"
	for _, kind := range []head.NoteKind{head.Scar, head.Shunt, head.Plate, head.SkullDefect} {
		for _, side := range []layout.Side{layout.LeftSide, layout.RightSide, layout.Midline} {
			v.Notes = append(v.Notes, head.Note{Kind: kind, Side: side, Place: place})
		}
	}
	if _, err := v.Check(); err != nil {
		t.Fatal(err)
	}
	for _, paper := range []Paper{A4, Letter} {
		figures, err := Pages(surface(t, someHead), v, Options{Paper: paper, NoStrips: true})
		if err != nil {
			t.Fatal(err)
		}
		checkPages(t, figures)
		first, all := strings.Join(said(t, figures[:1]), " "), strings.Join(said(t, figures), " ")
		if n := strings.Count(first, "…"); n != len(v.Notes) {
			t.Errorf("%d notes in short on the first sheet, want %d", n, len(v.Notes))
		}
		if n := strings.Count(all, "to feel"); n != len(v.Notes) {
			t.Errorf("%d notes in full, want %d", n, len(v.Notes))
		}
	}
}

// A step that goes on to another page repeats its number and instruction there.
func TestContinuedStepsRepeatTheirInstruction(t *testing.T) {
	for _, f := range pages(t, someHead, Options{Sites: layout.Set1010()}) {
		if f.Title() != "Distances on this head, continued" {
			continue
		}
		if text := strings.Join(said(t, []canvas.Figure{f}),
			" "); !strings.Contains(text, "Ring. Zero") && !strings.Contains(text,
			"Three distances to each") {
			t.Errorf("a page without instruction: %s", text)
		}
	}
}
