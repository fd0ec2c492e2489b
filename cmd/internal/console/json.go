package console

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"unicode/utf16"
	"unicode/utf8"
)

// JSON writes a value in a line. What a terminal would obey and not show is
// escaped, as
// [Echo] does, which JSON allows in texts, and only there can it stand.
func JSON(w io.Writer, value any) error {
	text, err := json.Marshal(value)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	for len(text) > 0 {
		r, size := utf8.DecodeRune(text)
		switch high, low := utf16.EncodeRune(r); {
		case strconv.IsGraphic(r):
			b.Write(text[:size])
		case r > 0xffff:
			fmt.Fprintf(&b, `\u%04x\u%04x`, high, low)
		default:
			fmt.Fprintf(&b, `\u%04x`, r)
		}
		text = text[size:]
	}
	b.WriteByte('\n')
	_, err = w.Write(b.Bytes())
	return err
}
