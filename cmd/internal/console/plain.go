package console

import (
	"fmt"
	"io"
	"os"
	"strings"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"
)

// acts reports whether a terminal obeys a character, or turns the order of
// others around, rather than show it. Line breaks and tabs are not among them.
func acts(r rune) bool {
	return unicode.IsControl(r) && r != '\n' && r != '\t' || unicode.Is(unicode.Bidi_Control, r) || r == '\u2028' ||
		r == '\u2029'
}

// escaped is a text in which what acts, and bytes that are no text, stand as in
// a string of JSON, \u001b, so that JSON stays what it was.
func escaped(text string) string {
	if utf8.ValidString(text) && !strings.ContainsFunc(text, acts) {
		return text
	}
	var b strings.Builder
	for at := 0; at < len(text); {
		r, size := utf8.DecodeRuneInString(text[at:])
		switch {
		case r == utf8.RuneError && size == 1:
			fmt.Fprintf(&b, `\x%02x`, text[at])
		case acts(r):
			for _, unit := range utf16.Encode([]rune{r}) {
				fmt.Fprintf(&b, `\u%04x`, unit)
			}
		default:
			b.WriteString(text[at : at+size])
		}
		at += size
	}
	return b.String()
}

// Plain is the writer w, which gets nothing that a terminal obeys: texts of
// files, and names of them, may hold such. Lines are left as they are.
func Plain(w io.Writer) io.Writer {
	if p, ok := w.(*plainWriter); ok {
		return p
	}
	return &plainWriter{to: w}
}

type plainWriter struct {
	to   io.Writer
	rest []byte // the beginning of a character
}

func (p *plainWriter) Write(data []byte) (int, error) {
	text := append(p.rest, data...)
	whole := len(text)
	for back := 1; back < utf8.UTFMax && back <= len(text); back++ {
		if tail := text[len(text)-back:]; utf8.RuneStart(tail[0]) {
			if !utf8.FullRune(tail) {
				whole -= back
			}
			break
		}
	}
	p.rest = append([]byte(nil), text[whole:]...)
	if _, err := io.WriteString(p.to, escaped(string(text[:whole]))); err != nil {
		return 0, err
	}
	return len(data), nil
}

// fileOf is the file behind a writer, if there is one.
func fileOf(w io.Writer) (*os.File, bool) {
	if p, ok := w.(*plainWriter); ok {
		w = p.to
	}
	file, ok := w.(*os.File)
	return file, ok
}
