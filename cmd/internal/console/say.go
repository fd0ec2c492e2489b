package console

import (
	"fmt"
	"io"
	"reflect"
	"regexp"
	"strings"
	"sync"
	"unicode/utf8"
)

// Line is a message as it is shown: on one line, without what a terminal obeys,
// without the ends of long texts that it quotes, and where it is still long
// without its middle.
func Line(text string) string {
	return shortened(escaped(longQuotes().ReplaceAllString(strings.Join(strings.Fields(text), " "), `"$1…"`)))
}

// longQuotes are texts in quotes of more than 200 characters, which begin with
// 80.
var longQuotes = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`"((?:[^"\\]|\\.){80})(?:[^"\\]|\\.){120,}?"`)
})

// Short is a text of others, be it several names, on one line and without its
// middle where it is long. For a single name there is Echo.
func Short(text string) string { return shortened(onLine(text)) }

// What a message holds at most, in characters: more than a sentence with twenty
// names; and of that its end, which says what to do.
const (
	mostOfLine = 1500
	mostOfTail = 400
)

func shortened(text string) string {
	if utf8.RuneCountInString(text) <= mostOfLine {
		return text
	}
	runes := []rune(text)
	return string(runes[:mostOfLine-mostOfTail]) + " … " + string(runes[len(runes)-mostOfTail:])
}

// Say prints for people as fmt.Fprintf does, but for texts among the arguments,
// which stay on their line: a name out of a file, or of one, may hold line
// breaks.
func Say(w io.Writer, format string, args ...any) {
	for i, a := range args {
		if err, ok := a.(error); ok {
			args[i] = onLine(err.Error())
		} else if v := reflect.ValueOf(a); v.Kind() == reflect.String {
			args[i] = onLine(v.String())
		}
	}
	fmt.Fprintf(w, format, args...)
}

// onLine is a text without line breaks.
func onLine(text string) string {
	return strings.NewReplacer("\n", `\n`, "\r", `\r`, "\t", `\t`).Replace(text)
}
