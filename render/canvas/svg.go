package canvas

import (
	"bytes"
	"encoding/base64"
	"encoding/xml"
	"fmt"
	"image"
	"image/color"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
)

const svgFonts = "Liberation Sans, Arial, Helvetica, sans-serif"

// An svg is the device that writes SVG 1.1. Coordinates are points from the
// upper left corner, y down.
type svg struct {
	b     bytes.Buffer
	ids   map[string]bool
	clips map[*clip]string
	// inside is the clips of the innermost open elements. They are opened
	// when something is drawn under them, so that groups and clips nest
	// whatever the order of Pop and End.
	inside []*clip
	err    error
}

func writeSVG(w io.Writer, f Figure, o origin) error {
	width, height := f.Size()
	s := &svg{ids: map[string]bool{"title": true, "desc": true, provenanceID: true}, clips: map[*clip]string{}}
	const millimetres = 25.4 / pointsPerInch
	w0, h0 := float64(width), float64(height)
	fmt.Fprintf(&s.b, `<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="%smm" height="%smm" viewBox="0 0 %s %s" role="img" aria-labelledby="title desc" font-family="%s" style="font-kerning:none" stroke-linejoin="round">
<title id="title">%s</title>
<desc id="desc">%s</desc>
<metadata id="%s">%s</metadata>
<rect width="100%%" height="100%%" fill="#fff"/>
`, number(w0*millimetres), number(h0*millimetres), number(w0), number(h0), svgFonts,
		escaped(f.Title()), escaped(f.Description()), provenanceID, escaped(string(o.record)))
	if err := newDrawing(s, downward(h0, 1), h0, dpi).render(f); err != nil {
		return err
	}
	s.under(nil)
	s.b.WriteString("</svg>\n")
	if s.err != nil {
		return s.err
	}
	_, err := w.Write(s.b.Bytes())
	return err
}

// escaped makes text fit for an element; what XML cannot hold becomes the
// replacement character.
func escaped(text string) string {
	var b strings.Builder
	xml.EscapeText(&b, []byte(text))                    // a Builder never fails
	return strings.ReplaceAll(b.String(), "&#34;", `"`) // readable JSON
}

// under closes and opens clipped elements until the next one is under k, an
// element in an element for each clip of the chain.
func (s *svg) under(k *clip) {
	var chain []*clip
	for ; k != nil; k = k.outer {
		chain = append(chain, k)
	}
	slices.Reverse(chain)
	same := 0
	for same < len(chain) && same < len(s.inside) && chain[same] == s.inside[same] {
		same++
	}
	for range s.inside[same:] {
		s.b.WriteString("</g>\n")
	}
	for _, k := range chain[same:] {
		id := s.clipID(k)
		fmt.Fprintf(&s.b, "<g clip-path=\"url(#%s)\">\n", id)
	}
	s.inside = chain
}

// clipID defines a clip at its first use.
func (s *svg) clipID(k *clip) string {
	if id, ok := s.clips[k]; ok {
		return id
	}
	id := s.unique("clip")
	s.clips[k] = id
	fmt.Fprintf(&s.b, "<clipPath id=\"%s\"><path d=\"%s\"/></clipPath>\n", id, svgPath(k.o))
	return id
}

func (s *svg) fill(o outline, ink color.NRGBA, k *clip) {
	s.under(k)
	fmt.Fprintf(&s.b, "<path d=\"%s\"%s/>\n", svgPath(o), paint("fill", ink))
}

func (s *svg) stroke(o outline, p pen, k *clip) {
	s.under(k)
	fmt.Fprintf(&s.b, `<path d="%s" fill="none"%s stroke-width="%s"`, svgPath(o), paint("stroke", p.ink),
		ratio(p.width))
	for i, l := range p.dash {
		lead := " "
		if i == 0 {
			lead = ` stroke-dasharray="`
		}
		s.b.WriteString(lead + number(l))
	}
	if len(p.dash) > 0 {
		s.b.WriteString(`"`)
	}
	if len(p.dash) > 0 && p.offset != 0 {
		fmt.Fprintf(&s.b, ` stroke-dashoffset="%s"`, number(p.offset))
	}
	s.b.WriteString("/>\n")
}

// paint is the attribute of a colour, with a second one where it is not opaque.
func paint(attribute string, ink color.NRGBA) string {
	text := fmt.Sprintf(` %s="#%02x%02x%02x"`, attribute, ink.R, ink.G, ink.B)
	if ink.A < 255 {
		text += fmt.Sprintf(` %s-opacity="%s"`, attribute, strconv.FormatFloat(float64(ink.A)/255, 'g', 3, 64))
	}
	return text
}

func (s *svg) text(t lettering, ink color.NRGBA, k *clip) {
	s.under(k)
	// Text has y down here, as every element; t.m has it up.
	m := t.m.after(affine{a: 1, d: -1})
	size, place := m.scale(), ""
	x, y := number(m.e), number(m.f)
	switch turn := math.Atan2(m.b, m.a) * 180 / math.Pi; {
	case !m.similar():
		place = fmt.Sprintf(` transform="matrix(%s %s %s %s %s %s)"`, ratio(m.a/size), ratio(m.b/size),
			ratio(m.c/size),
			ratio(m.d/size), x, y)
	case math.Abs(turn) > 1e-6:
		place = fmt.Sprintf(` x="%s" y="%s" transform="rotate(%s %s %s)"`, x, y, ratio(turn), x, y)
	default:
		place = fmt.Sprintf(` x="%s" y="%s"`, x, y)
	}
	if t.bold {
		place += ` font-weight="bold"`
	}
	if strings.Contains(t.text, "  ") || strings.TrimSpace(t.text) != t.text {
		place += ` xml:space="preserve"`
	}
	fmt.Fprintf(&s.b, "<text%s font-size=\"%s\"%s>%s</text>\n", place, ratio(size), paint("fill", ink),
		escaped(t.text))
}

func (s *svg) picture(img image.Image, m affine, k *clip) {
	s.under(k)
	var data bytes.Buffer
	if err := encodePNG(&data, rgba(img), 0, nil); err != nil {
		s.err = err
	}
	// The image has its origin at the top and y down; the square has not.
	m = m.after(affine{a: 1, d: -1, f: 1})
	place := fmt.Sprintf(`x="%s" y="%s" width="%s" height="%s"`, number(m.e), number(m.f), number(m.a), number(m.d))
	if !m.upright() || m.a < 0 || m.d < 0 {
		place = fmt.Sprintf(`width="1" height="1" transform="matrix(%s %s %s %s %s %s)"`,
			ratio(m.a), ratio(m.b), ratio(m.c), ratio(m.d), number(m.e), number(m.f))
	}
	fmt.Fprintf(&s.b, "<image %s preserveAspectRatio=\"none\" xlink:href=\"data:image/png;base64,%s\"/>\n",
		place, base64.StdEncoding.EncodeToString(data.Bytes()))
}

func (s *svg) open(id, title string) {
	s.under(nil)
	s.b.WriteString("<g")
	if id != "" {
		fmt.Fprintf(&s.b, ` id="%s"`, s.unique(id))
	}
	s.b.WriteString(">")
	if title != "" {
		fmt.Fprintf(&s.b, "<title>%s</title>", escaped(title))
	}
	s.b.WriteString("\n")
}

func (s *svg) close() {
	s.under(nil)
	s.b.WriteString("</g>\n")
}

// unique makes an id that XML takes and this document does not hold yet.
func (s *svg) unique(id string) string {
	id = strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '_', r == '.':
			return r
		}
		return '-'
	}, id)
	if c := id[0]; c == '-' || c == '.' || c >= '0' && c <= '9' {
		id = "g" + id
	}
	name := id
	for n := 2; s.ids[name]; n++ {
		name = id + "-" + strconv.Itoa(n)
	}
	s.ids[name] = true
	return name
}
