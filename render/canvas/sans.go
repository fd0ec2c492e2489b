package canvas

import (
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	stdfont "golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// Sans returns the one face of all figures, Liberation Sans, whose letters are
// as wide as those of Arial and Helvetica. Parsing happens once, at first use.
func Sans(size vg.Length, bold bool) font.Face {
	weight := stdfont.WeightNormal
	if bold {
		weight = stdfont.WeightBold
	}
	return font.Face{
		Font: font.Font{Typeface: "Liberation", Variant: "Sans", Weight: weight, Size: size},
		Face: typeface(bold),
	}
}

// TextWidth is how far text reaches along its baseline in every format: the
// sum of the letters' advances. The formats draw without kerning, so that
// columns of figures stand in line; a face's own Width method allows for it.
func TextWidth(f font.Face, text string) vg.Length {
	face := typeface(bold(f))
	var buffer sfnt.Buffer
	var units fixed.Int26_6
	for _, r := range printable(text) {
		units += advance(face, &buffer, glyph(face, &buffer, r))
	}
	return f.Font.Size * vg.Length(units) / vg.Length(face.UnitsPerEm())
}

// CapHeight is the height of a capital letter above the baseline; half of it
// lowers a baseline that is to be centred on a point.
func CapHeight(f font.Face) vg.Length {
	face := typeface(bold(f))
	metrics, err := face.Metrics(nil, fixed.Int26_6(face.UnitsPerEm()), stdfont.HintingNone)
	if err != nil {
		return 0
	}
	return f.Font.Size * vg.Length(metrics.CapHeight) / vg.Length(face.UnitsPerEm())
}

func bold(f font.Face) bool { return f.Font.Weight >= stdfont.WeightBold }

var (
	regularFace = sync.OnceValue(func() *opentype.Font { return mustParse(liberationsansregular.TTF) })
	boldFace    = sync.OnceValue(func() *opentype.Font { return mustParse(liberationsansbold.TTF) })
)

func typeface(bold bool) *opentype.Font {
	if bold {
		return boldFace()
	}
	return regularFace()
}

func typefaceFile(bold bool) []byte {
	if bold {
		return liberationsansbold.TTF
	}
	return liberationsansregular.TTF
}

// mustParse reads a font that is part of the program.
func mustParse(ttf []byte) *opentype.Font {
	f, err := opentype.Parse(ttf)
	if err != nil {
		panic(err)
	}
	return f
}

// glyph is the letter of r; 0, the empty frame, where the face has none.
func glyph(f *opentype.Font, b *sfnt.Buffer, r rune) sfnt.GlyphIndex {
	g, err := f.GlyphIndex(b, r)
	if err != nil {
		return 0
	}
	return g
}

// advance is in units of the font: UnitsPerEm to the size.
func advance(f *opentype.Font, b *sfnt.Buffer, g sfnt.GlyphIndex) fixed.Int26_6 {
	a, err := f.GlyphAdvance(b, g, fixed.Int26_6(f.UnitsPerEm()), stdfont.HintingNone)
	if err != nil {
		return 0
	}
	return a
}

// printable makes one line of text that every format can hold: white space
// becomes blanks, other control characters and bytes that are not UTF-8 become
// the replacement character.
func printable(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r) && r != '\u00a0':
			return ' '
		case unicode.IsControl(r), r == '\ufffe', r == '\uffff':
			return utf8.RuneError
		}
		return r
	}, text)
}
