package canvas

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

func TestPDFFonts(t *testing.T) {
	file := written(t, trial{}, PDF)
	for _, font := range pdfFonts {
		if len(font.written) != len(font.tagged) {
			t.Errorf("%s and %s differ in length", font.written, font.tagged)
		}
		if bytes.Contains(file, []byte(font.written)) ||
			!bytes.Contains(file, []byte("/BaseFont /"+font.tagged)) {
			t.Errorf("%s is not in the file", font.tagged)
		}
	}
	plain := written(t, sketch{72, 72, "", func(c Canvas) { c.FillString(Sans(7, false), at(1, 1), "−2.1 µV") }},
		PDF)
	if len(plain) > 20e3 {
		t.Errorf("a page with one word has %d bytes: the font is not cut to it", len(plain))
	}
	if bytes.Contains(plain, []byte(pdfFonts[1].tagged)) {
		t.Error("an unused face is embedded")
	}
}

func TestPDFText(t *testing.T) {
	if _, err := exec.LookPath("pdftotext"); err != nil {
		t.Skip("pdftotext (poppler) is not installed")
	}
	lines := []string{"−2.1 µV", "√λ – 3 ± 1", "a\\b(c)d", "\U0001d54f is beyond"}
	file := filepath.Join(t.TempDir(), "text.pdf")
	page := written(t, sketch{200, 100, "", func(c Canvas) {
		for i, line := range lines {
			c.FillString(Sans(7, i%2 == 1), at(10, float64(80-20*i)), line)
		}
	}}, PDF)
	if err := os.WriteFile(file, page, 0o666); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("pdftotext", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	lines[3] = "\ufffd is beyond" // two bytes a letter
	for _, line := range lines {
		if !strings.Contains(string(out), line) {
			t.Errorf("%q is not in %q", line, out)
		}
	}
}

func BenchmarkPDFText(b *testing.B) {
	figure := sketch{200, 100, "", func(c Canvas) { c.FillString(Sans(7, false), at(1, 1), "−2.1 µV") }}
	for b.Loop() {
		written(b, figure, PDF)
	}
}
