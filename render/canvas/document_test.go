package canvas

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"

	"calotte/topo/provenance"
)

// threePages differ in size, and each leaves a clip and a colour behind.
func threePages() []Figure {
	page := func(width, height vg.Length, word string) Figure {
		return sketch{width, height, word, func(c Canvas) {
			c.FillString(Sans(9, word == "second"), at(10, float64(height)-20), word)
			c.SetLineWidth(2)
			c.Push()
			c.Clip(rectangle(0, 0, 60, 30))
			c.Stroke(circle(50, 20, 15))
			c.Pop()
		}}
	}
	return []Figure{page(200, 100, "first"), page(100, 200, "second"), page(150, 150, "third")}
}

func document(t testing.TB, pages []Figure) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := WriteDocument(&b, pages, PDF, trialProvenance()); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestDocumentRepeatsItsBytes(t *testing.T) {
	first := document(t, threePages())
	if !bytes.Equal(first, document(t, threePages())) {
		t.Error("another run gave other bytes")
	}
	p, err := ReadProvenance(bytes.NewReader(first), int64(len(first)))
	if err != nil || p.Work != "map" {
		t.Errorf("the provenance reads %+v, %v", p, err)
	}
}

func TestDocumentOfOnePageIsTheFigure(t *testing.T) {
	if !bytes.Equal(document(t, []Figure{trial{}}), written(t, trial{}, PDF)) {
		t.Error("one page alone gives other bytes than Write")
	}
}

func TestDocumentPages(t *testing.T) {
	if _, err := exec.LookPath("pdftotext"); err != nil {
		t.Skip("pdftotext (poppler) is not installed")
	}
	file := filepath.Join(t.TempDir(), "document.pdf")
	if err := os.WriteFile(file, document(t, threePages()), 0o666); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("pdftotext", "-bbox", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		`<page width="200.000000" height="100.000000">`, ">first</word>",
		`<page width="100.000000" height="200.000000">`, ">second</word>",
		`<page width="150.000000" height="150.000000">`, ">third</word>",
	} {
		if !strings.Contains(string(out), want) {
			t.Errorf("%s is not in the file's pages", want)
		}
	}
}

func TestDocumentRefuses(t *testing.T) {
	endless := sketch{0, 72, "", func(Canvas) {}}
	for _, row := range []struct {
		name   string
		pages  []Figure
		format Format
		fault  string
	}{
		{"no page", nil, PDF, "without pages"},
		{"pages of a picture", threePages(), PNG, "png holds one page: write the 3 pages one at a time"},
		{"pages of a drawing", threePages(), SVG, "svg holds one page"},
		{"a page without width", append(threePages(), endless), PDF, "at least one pixel a side"},
		{"no such format", threePages(), Format(9), "unknown figure format"},
	} {
		var b bytes.Buffer
		err := WriteDocument(&b, row.pages, row.format, provenance.Record{})
		if err == nil || !strings.Contains(err.Error(), row.fault) || b.Len() > 0 {
			t.Errorf("%s: got %v and %d bytes, want an error with %q", row.name, err, b.Len(), row.fault)
		}
	}
}
