package canvas

import (
	"slices"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// letterer turns text into outlines and remembers the letters it has met.
type letterer struct {
	buffer  sfnt.Buffer
	letters map[letterKey]letter
}

type letterKey struct {
	r    rune
	bold bool
}

// A letter is in units of the font's size, y up.
type letter struct {
	shape   outline
	advance float64
}

func newLetterer() *letterer {
	return &letterer{letters: map[letterKey]letter{}}
}

// outline returns the text's letters side by side, in the device's coordinates.
func (l *letterer) outline(t lettering) outline { return slices.Concat(l.words(t)...) }

// words returns the same word by word: what lies between letters without ink.
func (l *letterer) words(t lettering) []outline {
	words := make([]outline, 1)
	x := 0.0
	for _, r := range t.text {
		glyph := l.letter(letterKey{r, t.bold})
		if len(glyph.shape) == 0 {
			words = append(words, nil)
		}
		o := &words[len(words)-1]
		m := t.m.after(affine{a: 1, d: 1, e: x})
		for _, s := range glyph.shape {
			*o = append(*o, step{verb: s.verb, c1: m.at(s.c1), c2: m.at(s.c2), to: m.at(s.to)})
		}
		x += glyph.advance
	}
	return words
}

func (l *letterer) letter(k letterKey) letter {
	if known, ok := l.letters[k]; ok {
		return known
	}
	face := typeface(k.bold)
	em := float64(face.UnitsPerEm())
	g := glyph(face, &l.buffer, k.r)
	made := letter{advance: float64(advance(face, &l.buffer, g)) / em}
	segments, err := face.LoadGlyph(&l.buffer, g, fixed.Int26_6(face.UnitsPerEm()), nil)
	if err == nil {
		made.shape = letterShape(segments, em)
	}
	l.letters[k] = made
	return made
}

func letterShape(segments sfnt.Segments, em float64) outline {
	at := func(p fixed.Point26_6) point { return point{float64(p.X) / em, -float64(p.Y) / em} }
	var o outline
	for _, s := range segments {
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			if len(o) > 0 {
				o = append(o, step{verb: shut})
			}
			o = append(o, step{verb: move, to: at(s.Args[0])})
		case sfnt.SegmentOpLineTo:
			o = o.lineTo(at(s.Args[0]))
		case sfnt.SegmentOpQuadTo:
			to := at(s.Args[1])
			c1, c2 := raised(o.current(), at(s.Args[0]), to)
			o = append(o, step{verb: cube, c1: c1, c2: c2, to: to})
		case sfnt.SegmentOpCubeTo:
			o = append(o, step{verb: cube, c1: at(s.Args[0]), c2: at(s.Args[1]), to: at(s.Args[2])})
		}
	}
	if len(o) > 0 {
		o = append(o, step{verb: shut})
	}
	return o
}
