package guide

import (
	"bytes"
	"testing"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/canvas"
	"calotte/topo/provenance"
)

// someHead is the example of the definitions: 560, 365 and 340 mm.
var someHead = head.Head{Wearer: "P014", Circumference: 560, NasionInion: 365, EarEar: 340}

func surface(t testing.TB, h head.Head) layout.Surface {
	t.Helper()
	s, err := h.Surface()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func pages(t testing.TB, h head.Head, o Options) []canvas.Figure {
	t.Helper()
	figures, err := Pages(surface(t, h), h.Visit(), o)
	if err != nil {
		t.Fatal(err)
	}
	return figures
}

func blank(t testing.TB, o Options) []canvas.Figure {
	t.Helper()
	figures, err := Blank(o)
	if err != nil {
		t.Fatal(err)
	}
	return figures
}

func planOf(t testing.TB, h head.Head, o Options) *plan {
	t.Helper()
	p, err := newPlan(surface(t, h), h, &o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func written(t testing.TB, f canvas.Figure, format canvas.Format) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := canvas.Write(&b, f, format, provenance.Record{}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// said is all text of the pages.
func said(t testing.TB, figures []canvas.Figure) []string {
	t.Helper()
	var texts []string
	for _, f := range figures {
		boxes, err := canvas.Boxes(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, b := range boxes {
			if b.Kind == canvas.Text {
				texts = append(texts, b.Text)
			}
		}
	}
	return texts
}
