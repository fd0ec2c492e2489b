package canvas

import (
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

// An element is one start tag of an SVG with the text right inside it.
type element struct {
	name, text string
	attributes map[string]string
}

func elements(t testing.TB, svg []byte) (all []element) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(string(svg)))
	var open []int
	for {
		token, err := d.Token()
		if err == io.EOF {
			return all
		}
		if err != nil {
			t.Fatalf("not XML: %v", err)
		}
		switch token := token.(type) {
		case xml.StartElement:
			e := element{name: token.Name.Local, attributes: map[string]string{}}
			for _, a := range token.Attr {
				e.attributes[a.Name.Local] = a.Value
			}
			open = append(open, len(all))
			all = append(all, e)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			if len(open) > 0 {
				all[open[len(open)-1]].text += string(token)
			}
		}
	}
}

func TestSVGHoldsAnyText(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		text := rapid.OneOf(
			rapid.String(),
			rapid.SampledFrom([]string{"]]>", "<a b='c'>", "&amp;&#0;", "\x00\x01\v\x1b\x7f", "\xff\xfe",
				"\ufffe\uffff", "a  b\r\n", "−2.1 µV √λ –"}),
		).Draw(r, "text")
		figure := sketch{72, 72, text, func(c Canvas) {
			c.Group(text, text)
			c.FillString(Sans(7, false), at(1, 1), text)
			c.End()
			c.Group(text, "")
			c.End()
		}}
		ids := map[string]bool{}
		for _, e := range elements(t, written(t, figure, SVG)) {
			if id, ok := e.attributes["id"]; ok {
				if ids[id] || strings.ContainsAny(id, " \t\n") || id == "" {
					r.Fatalf("id %q is not unique or not an id", id)
				}
				ids[id] = true
			}
			if e.name == "text" && e.text != printable(text) {
				r.Fatalf("text %q came back as %q", text, e.text)
			}
		}
	})
}

func TestPrintable(t *testing.T) {
	for in, want := range map[string]string{
		"a\tb\nc":      "a b c",
		"\x00\x7f\x9f": "\ufffd\ufffd\ufffd",
		"P7\u00a0P8":   "P7\u00a0P8",
		"\xe2\x88":     "\ufffd\ufffd",
	} {
		if got := printable(in); got != want || !utf8.ValidString(got) {
			t.Errorf("%q became %q, want %q", in, got, want)
		}
	}
}

// Groups and clips nest whatever the order of their ends.
func TestSVGNestsGroupsAndClips(t *testing.T) {
	square := rectangle(0, 0, 9, 9)
	figure := sketch{72, 72, "", func(c Canvas) {
		c.Push()
		c.Clip(square)
		c.Group("outer", "")
		c.Fill(square)
		c.Push()
		c.Clip(square)
		c.Fill(square)
		c.End()
		c.Fill(square)
		c.Pop()
		c.Group("inner", "")
		c.Pop()
		c.Fill(square)
		c.End()
	}}
	got := ""
	depth := 0
	d := xml.NewDecoder(strings.NewReader(string(written(t, figure, SVG))))
	for {
		token, err := d.Token()
		if err != nil {
			break
		}
		switch token := token.(type) {
		case xml.StartElement:
			depth++
			if label := attribute(token, "id") + attribute(token, "clip-path"); token.Name.Local == "g" {
				got += fmt.Sprint(depth, label, " ")
			} else if token.Name.Local == "path" {
				got += fmt.Sprint(depth, "path ")
			}
		case xml.EndElement:
			depth--
		}
	}
	// The paths at depth 4 and 5 right after a group are the clips' own.
	want := "2outer 4path 3url(#clip) 4path 5path 4url(#clip-2) 5path " +
		"2url(#clip) 3url(#clip-2) 4path 2inner 3path "
	if got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

func TestSVGDocument(t *testing.T) {
	all := elements(t, written(t, trial{}, SVG))
	texts := map[string]string{}
	for _, e := range all {
		if id := e.attributes["id"]; id != "" {
			texts[id] = e.text
		}
	}
	if texts["title"] != (trial{}).Title() || texts["desc"] != (trial{}).Description() {
		t.Errorf("title %q, description %q", texts["title"], texts["desc"])
	}
	root := all[0].attributes
	if root["width"] != "84.67mm" || root["height"] != "59.27mm" || root["viewBox"] != "0 0 240 168" {
		t.Errorf("size %s × %s, viewBox %s", root["width"], root["height"], root["viewBox"])
	}
	for _, e := range all {
		if e.name == "image" && !strings.HasPrefix(e.attributes["href"], "data:image/png;base64,iVBORw0KGgo") {
			t.Errorf("an image begins %.40s", e.attributes["href"])
		}
	}
}

func TestHundredths(t *testing.T) {
	for n, want := range map[int64]string{0: "0", 5: ".05", -50: "-.5", 100: "1", -1234: "-12.34", 120: "1.2"} {
		if got := string(appendHundredths(nil, n)); got != want {
			t.Errorf("%d: got %s, want %s", n, got, want)
		}
	}
	rapid.Check(t, func(r *rapid.T) {
		n := rapid.Int64Range(-1e9, 1e9).Draw(r, "n")
		x, err := strconv.ParseFloat(string(appendHundredths(nil, n)), 64)
		if err != nil || math.Round(x*100) != float64(n) {
			r.Fatalf("%d came back as %v, error %v", n, x, err)
		}
	})
}

func TestSVGPath(t *testing.T) {
	o := outline{
		{verb: move, to: point{1, 2}},
		{verb: line, to: point{1.5, 2.25}},
		{verb: line, to: point{0, 2.25}},
		{verb: cube, c1: point{0, 0}, c2: point{1, -1}, to: point{2, 2}},
		{verb: shut},
		{verb: line, to: point{3, 3}},
		{verb: move, to: point{-4, 0}},
		{verb: line, to: point{-4, 1}},
	}
	// After z the pen is back at (1, 2), from where the next line is
	// counted.
	const want = "M1 2l.5 .25-1.5 0c0-2.25 1-3.25 2-.25zl2 1M-4 0l0 1"
	if got := svgPath(o); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	// Rounding must not add up along a path.
	long := outline{{verb: move}}
	for i := range 10000 {
		long = append(long, step{verb: line, to: point{float64(i) * 0.00377, 0}})
	}
	x := 0.0
	fields := strings.Fields(strings.NewReplacer("M", " ", "l", " ").Replace(svgPath(long)))
	for i := 2; i < len(fields); i += 2 {
		step, err := strconv.ParseFloat(fields[i], 64)
		if err != nil {
			t.Fatal(err)
		}
		x += step
	}
	if math.Abs(x-9999*0.00377) > 0.006 {
		t.Errorf("the path ends at %.4f, want %.4f", x, 9999*0.00377)
	}
}
