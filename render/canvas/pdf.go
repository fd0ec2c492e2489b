package canvas

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"io"
	"strconv"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/draw"
)

// A pdf is the device that writes PDF. Coordinates are points from the lower
// left corner, y up, as in the file. The library keeps fonts, images and
// transparency; paths and states are written as operators.
type pdf struct {
	doc    *fpdf.Fpdf
	height float64
	images int
	widths map[int]bool // of the pictures, in pixels
	inside *clip
	set    graphics
}

// graphics is what the file's graphics state holds, so as not to write it
// again; the zero value knows nothing.
type graphics struct {
	fill, stroke, alpha string
	line                string
}

// pdfFonts are the library's names of the two faces. It writes them after
// "utf8" and knows no subset tag, so the tag that ISO 32000, 9.6.4 asks for
// takes the place of as many letters in the finished file.
var pdfFonts = [2]struct{ family, written, tagged string }{
	{"sr+liberationsans", "utf8sr+liberationsans", "CALOTR+LiberationSans"},
	{"sb+liberationsans-bold", "utf8sb+liberationsans-bold", "CALOTB+LiberationSans-Bold"},
}

// writePDF draws the figures as pages, each in its own size. The document's
// title and description are the first one's.
func writePDF(w io.Writer, pages []Figure, o origin) error {
	doc := fpdf.NewCustom(&fpdf.InitType{UnitStr: "pt", Size: pageSize(pages[0])})
	describePDF(doc, pages[0], o)
	doc.SetAutoPageBreak(false, 0)
	p := &pdf{doc: doc, widths: map[int]bool{}}
	for _, f := range pages {
		if err := p.page(f); err != nil {
			return err
		}
	}
	var b bytes.Buffer
	if err := doc.Output(&b); err != nil {
		return err
	}
	file := b.Bytes()
	for _, font := range pdfFonts {
		file = bytes.ReplaceAll(file, []byte(font.written), []byte(font.tagged))
	}
	_, err := w.Write(file)
	return err
}

// page draws one figure. A page starts with no clip and a graphics state of
// its own.
func (p *pdf) page(f Figure) error {
	size := pageSize(f)
	p.doc.AddPageFormat("P", size)
	p.doc.RawWriteStr("0 J 1 j") // butt ends, round joins
	p.height, p.inside, p.set = size.Ht, nil, graphics{}
	if err := newDrawing(p, identity, size.Ht, dpi).render(f); err != nil {
		return err
	}
	p.under(nil)
	return nil
}

func pageSize(f Figure) fpdf.SizeType {
	width, height := f.Size()
	return fpdf.SizeType{Wd: float64(width), Ht: float64(height)}
}

// describePDF fills in the document's information. The dates are fixed: when a
// figure was made is not part of it.
func describePDF(doc *fpdf.Fpdf, f Figure, o origin) {
	fixed := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	doc.SetCreationDate(fixed)
	doc.SetModificationDate(fixed)
	doc.SetCatalogSort(true)
	doc.SetProducer(o.software, true)
	doc.SetCreator(o.software, true)
	doc.SetTitle(printable(f.Title()), true)
	doc.SetSubject(printable(f.Description()), true)
	doc.SetXmpMetadata(xmpPacket(f, o))
}

func (p *pdf) write(parts ...string) { p.doc.RawWriteStr(strings.Join(parts, " ")) }

// under leaves and enters clips until the next operator is under k.
func (p *pdf) under(k *clip) {
	if p.inside == k {
		return
	}
	if p.inside != nil {
		p.write("Q")
	}
	p.inside, p.set = k, graphics{}
	if k == nil {
		return
	}
	p.write("q")
	for ; k != nil; k = k.outer {
		p.write(pdfPath(k.o), "W n")
	}
}

func (p *pdf) fill(o outline, ink color.NRGBA, k *clip) {
	p.under(k)
	p.ink(&p.set.fill, ink, "rg")
	p.write(pdfPath(o), "f")
}

func (p *pdf) stroke(o outline, pen pen, k *clip) {
	p.under(k)
	p.ink(&p.set.stroke, pen.ink, "RG")
	dash := make([]string, len(pen.dash))
	for i, l := range pen.dash {
		dash[i] = number(l)
	}
	line := fmt.Sprintf("%s w [%s] %s d", ratio(pen.width), strings.Join(dash, " "), number(pen.offset))
	if line != p.set.line {
		p.set.line = line
		p.write(line)
	}
	p.write(pdfPath(o), "S")
}

// ink sets a colour and the transparency where they have changed.
func (p *pdf) ink(known *string, ink color.NRGBA, operator string) {
	if rgb := fmt.Sprintf("%s %s %s %s", share(ink.R), share(ink.G), share(ink.B), operator); rgb != *known {
		*known = rgb
		p.write(rgb)
	}
	if alpha := share(ink.A); alpha != p.set.alpha {
		p.set.alpha = alpha
		p.doc.SetAlpha(float64(ink.A)/255, "Normal")
	}
}

func share(v uint8) string { return strconv.FormatFloat(float64(v)/255, 'g', 4, 64) }

func (p *pdf) text(t lettering, ink color.NRGBA, k *clip) {
	p.under(k)
	p.ink(&p.set.fill, ink, "rg")
	size := t.m.scale()
	turn := t.m
	turn.a, turn.b, turn.c, turn.d = turn.a/size, turn.b/size, turn.c/size, turn.d/size
	p.write("q", pdfMatrix(turn), "cm")
	p.font(t.bold, size)
	p.doc.Text(0, p.height, bmp(t.text)) // the library measures from the top
	p.write("Q")
}

func (p *pdf) font(bold bool, size float64) {
	i := 0
	if bold {
		i = 1
	}
	family := pdfFonts[i].family
	p.doc.AddUTF8FontFromBytes(family, "", typefaceFile(bold)) // once; then it returns at once
	p.doc.SetFont(family, "", size)
}

// bmp replaces what two bytes a letter, as the library writes text, cannot
// hold.
func bmp(text string) string {
	return strings.Map(func(r rune) rune {
		if r > 0xffff {
			return '\ufffd'
		}
		return r
	}, text)
}

func (p *pdf) picture(img image.Image, m affine, k *clip) {
	p.under(k)
	p.ink(&p.set.fill, color.NRGBA{A: 255}, "rg")
	source := refined(rgba(img), m, dpi/pointsPerInch)
	padded := p.padded(source)
	var data bytes.Buffer
	if err := encodePNG(&data, padded, 0, nil); err != nil {
		p.doc.SetError(err)
		return
	}
	width := float64(padded.Rect.Dx()) / float64(source.Rect.Dx())
	p.images++
	name, options := strconv.Itoa(p.images), fpdf.ImageOptions{ImageType: "png"}
	p.doc.RegisterImageOptionsReader(name, options, &data)
	p.write("q", pdfMatrix(m), "cm")
	p.doc.ImageOptions(name, 0, p.height-1, width, 1, false, options, 0, "")
	p.write("Q")
}

// padded adds transparent columns on the right until no other picture is as
// wide. The library writes pictures in the order of their widths and leaves
// those of one width to chance.
func (p *pdf) padded(img *image.RGBA) *image.RGBA {
	size := img.Rect.Size()
	width := size.X
	for p.widths[width] {
		width++
	}
	p.widths[width] = true
	if width == size.X {
		return img
	}
	made := image.NewRGBA(image.Rect(0, 0, width, size.Y))
	draw.Copy(made, image.Point{}, img, img.Rect, draw.Src, nil)
	return made
}

func (p *pdf) open(string, string) {}
func (p *pdf) close()              {}

func pdfMatrix(m affine) string {
	return strings.Join([]string{ratio(m.a), ratio(m.b), ratio(m.c), ratio(m.d), number(m.e), number(m.f)}, " ")
}

func pdfPath(o outline) string {
	var b []byte
	put := func(operator string, points ...point) {
		for _, p := range points {
			b = append(appendNumber(b, p.x), ' ')
			b = append(appendNumber(b, p.y), ' ')
		}
		b = append(append(b, operator...), ' ')
	}
	for _, s := range o {
		switch s.verb {
		case move:
			put("m", s.to)
		case line:
			put("l", s.to)
		case cube:
			put("c", s.c1, s.c2, s.to)
		case shut:
			put("h")
		}
	}
	return string(b)
}
