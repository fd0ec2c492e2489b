package console

import (
	"strconv"
	"strings"
	"unicode/utf8"
)

// longestEcho is how many characters of someone else's text a message repeats.
const longestEcho = 80

// Echo is a text that came out of a file, or is the name of one, as a message
// repeats it: cut to 80 characters, of which the last then is "…", on one line.
// What a terminal would obey and not show, and what would turn the order of the
// text around, stands there as Go spells it: \x1b, \n, \u202e. The result needs
// no other quoting, so %s, not %q.
func Echo(text string) string {
	var b strings.Builder
	shown := 0
	for at := 0; at < len(text); {
		r, size := utf8.DecodeRuneInString(text[at:])
		part := text[at : at+size]
		if !strconv.IsGraphic(r) || r == utf8.RuneError && size == 1 {
			part = strings.Trim(strconv.Quote(part), `"`)
		}
		at += size
		length := utf8.RuneCountInString(part)
		if shown+length > longestEcho || shown+length == longestEcho && at < len(text) {
			return b.String() + "…"
		}
		b.WriteString(part)
		shown += length
	}
	return b.String()
}
