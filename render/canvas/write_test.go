package canvas

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"image"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"gonum.org/v1/plot/vg"

	"calotte/topo/provenance"
)

var keep = flag.String("keep", "", "write the trial figure's files to this `folder`")

func written(t testing.TB, f Figure, format Format) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, f, format, trialProvenance()); err != nil {
		t.Fatalf("%v: %v", format, err)
	}
	return b.Bytes()
}

func TestWriteRepeatsItsBytes(t *testing.T) {
	for _, format := range []Format{PNG, SVG, PDF} {
		first := written(t, trial{}, format)
		if *keep != "" {
			if err := os.WriteFile(filepath.Join(*keep, "trial."+format.String()), first,
				0o666); err != nil {
				t.Fatal(err)
			}
		}
		var together sync.WaitGroup
		for range 4 {
			together.Go(func() {
				var b bytes.Buffer
				if err := Write(&b, trial{}, format, trialProvenance()); err != nil ||
					!bytes.Equal(b.Bytes(), first) {
					t.Errorf("%v: another run gave other bytes (error %v)", format, err)
				}
			})
		}
		together.Wait()
	}
}

// Several pictures of one size keep their places in every run.
func TestPicturesOfOneSizeRepeatTheirBytes(t *testing.T) {
	f := sketch{width: 72, height: 72, draw: func(c Canvas) {
		for i := range 6 {
			img := image.NewRGBA(image.Rect(0, 0, 40, 40))
			for k := range img.Pix {
				img.Pix[k] = uint8(40*i + k%2)
			}
			at := vg.Point{X: vg.Length(i) * 12}
			c.DrawImage(vg.Rectangle{Min: at, Max: at.Add(vg.Point{X: 9.6, Y: 9.6})}, img)
		}
	}}
	for _, format := range []Format{PNG, SVG, PDF} {
		first := written(t, f, format)
		for range 12 {
			if !bytes.Equal(written(t, f, format), first) {
				t.Errorf("%v: another run gave other bytes", format)
				break
			}
		}
	}
}

func TestParseFormat(t *testing.T) {
	for _, row := range []struct {
		extension string
		want      Format
		fault     string
	}{
		{".png", PNG, ""},
		{"SVG", SVG, ""},
		{".Pdf", PDF, ""},
		{".jpg", 0, `unknown figure format ".jpg": end the name in .png, .svg, .pdf, .tiff`},
		{"", 0, `unknown figure format "": end the name in .png, .svg, .pdf, .tiff`},
		{"..png", 0, `unknown figure format "..png": end the name in .png, .svg, .pdf, .tiff`},
	} {
		got, err := ParseFormat(row.extension)
		if got != row.want || fmt.Sprint(err) != row.fault && (err != nil || row.fault != "") {
			t.Errorf("%q: got %v, %v; want %v, %v", row.extension, got, err, row.want, row.fault)
		}
	}
}

// A sketch is a figure made for one test.
type sketch struct {
	width, height vg.Length
	title         string
	draw          func(c Canvas)
}

func (s sketch) Size() (width, height vg.Length) { return s.width, s.height }
func (s sketch) Title() string                   { return s.title }
func (s sketch) Description() string             { return "A sketch." }
func (s sketch) Draw(c Canvas)                   { s.draw(c) }

func TestWriteRefuses(t *testing.T) {
	inch := func(draw func(c Canvas)) Figure { return sketch{72, 72, "", draw} }
	nothing := func(Canvas) {}
	nan := math.NaN()
	for _, row := range []struct {
		name   string
		figure Figure
		fault  string
	}{
		{"no width", sketch{0, 72, "", nothing}, "at least one pixel a side"},
		{"width not a number", sketch{vg.Length(nan), 72, "", nothing}, "at least one pixel a side"},
		{"endless", sketch{vg.Length(math.Inf(1)), 72, "", nothing}, "at least one pixel a side"},
		{"a wall", sketch{1e5, 1e5, "", nothing}, "at most"},
		{"Pop", inch(func(c Canvas) { c.Pop() }), "a Pop without a Push"},
		{"Push", inch(func(c Canvas) { c.Push() }), "1 Push without a Pop"},
		{"End", inch(func(c Canvas) { c.End() }), "an End without a Group"},
		{"Group", inch(func(c Canvas) { c.Group("a", ""); c.Group("b", "") }), "2 Group without an End"},
		{"line", inch(func(c Canvas) {
			c.Stroke(vg.Path{{Type: vg.MoveComp},
				{Type: vg.LineComp, Pos: at(1, nan)}})
		}),
			"not finite"},
		{"arc", inch(func(c Canvas) { c.Fill(circle(0, 0, nan)) }), "not finite"},
		{"turn", inch(func(c Canvas) { c.Stroke(vg.Path{{Type: vg.ArcComp, Radius: 1, Angle: math.Inf(1)}}) }),
			"not finite"},
		{"text", inch(func(c Canvas) { c.FillString(Sans(7, false), at(nan, 0), "a") }), "not finite"},
		{"image", inch(func(c Canvas) { c.DrawImage(vg.Rectangle{Max: at(nan, 1)}, gradient(2, 2)) }),
			"not finite"},
		{"clip", inch(func(c Canvas) { c.Clip(circle(nan, 0, 1)) }), "not finite"},
	} {
		for _, format := range []Format{PNG, SVG, PDF} {
			var b bytes.Buffer
			err := Write(&b, row.figure, format, provenance.Record{})
			if err == nil || !strings.Contains(err.Error(), row.fault) {
				t.Errorf("%s as %v: got error %v, want one with %q", row.name, format, err, row.fault)
			}
			if b.Len() > 0 {
				t.Errorf("%s as %v: %d bytes were written", row.name, format, b.Len())
			}
		}
	}
	if err := Write(&bytes.Buffer{}, trial{}, Format(9), provenance.Record{}); err == nil {
		t.Error("an unknown format was written")
	}
}

// What would not show draws nothing, and fails in no format.
func TestNothingToDraw(t *testing.T) {
	empty := sketch{72, 72, "", func(c Canvas) {
		c.Fill(nil)
		c.Stroke(nil)
		c.Stroke(vg.Path{{Type: vg.CloseComp}})
		c.Fill(vg.Path{{Type: 77}})
		c.SetLineWidth(0)
		c.Stroke(circle(9, 9, 5))
		c.SetLineWidth(vg.Length(math.NaN()))
		c.Stroke(circle(9, 9, 5))
		c.FillString(Sans(0, false), at(1, 1), "size 0")
		c.FillString(Sans(7, false), at(1, 1), "")
		c.DrawImage(vg.Rectangle{}, gradient(2, 2))
		c.DrawImage(vg.Rectangle{Max: at(5, 5)}, nil)
		c.Push()
		c.Clip(nil)
		c.Fill(rectangle(0, 0, 72, 72))
		c.Pop()
		c.Push()
		c.Scale(0, 0)
		c.SetLineWidth(1)
		c.Stroke(circle(9, 9, 5))
		c.FillString(Sans(7, false), at(1, 1), "flat")
		c.Pop()
	}}
	img, err := Raster(empty, dpi)
	if err != nil {
		t.Fatal(err)
	}
	for i, v := range img.Pix {
		if v != 255 {
			t.Fatalf("byte %d is %d: something was drawn", i, v)
		}
	}
	for _, format := range []Format{SVG, PDF} {
		written(t, empty, format)
	}
}

type brokenPipe struct{}

var errBroken = errors.New("broken")

func (brokenPipe) Write([]byte) (int, error) { return 0, errBroken }

func TestWritePassesErrorsOn(t *testing.T) {
	for _, format := range []Format{PNG, SVG, PDF} {
		if err := Write(brokenPipe{}, trial{}, format, provenance.Record{}); !errors.Is(err, errBroken) {
			t.Errorf("%v: got error %v, want %v", format, err, errBroken)
		}
	}
}
