package recording

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// A FormatError reports bytes that do not follow the format.
type FormatError struct {
	Offset int64  // position of the first byte of the field, or where the file ends
	Field  string // the field's name
	Got    string // what was found there
	Want   string // what was expected
}

// Error implements error: one line, without the file's name.
func (e *FormatError) Error() string {
	return fmt.Sprintf("byte %d, %s: got %s, want %s", e.Offset, e.Field, e.Got, e.Want)
}

// A field is a stretch of header bytes that holds one value.
type field struct {
	name   string
	offset int64
	bytes  []byte
}

// wrong returns the error of a field whose bytes do not hold what they should.
func (f field) wrong(want string) error {
	return &FormatError{f.offset, f.name, strconv.Quote(string(f.bytes)), want}
}

// text returns the field for display. The standard allows printable ASCII only;
// other bytes are taken as UTF-8, or else as Latin-1.
func (f field) text() string { return display(bytes.TrimRight(f.bytes, " \x00"), "") }

// number returns the field without the blanks that fill it up.
func (f field) number() string { return strings.Trim(string(f.bytes), " ") }

func (f field) integer() (int, error) {
	s := f.number()
	if !only(s, "+-0123456789") {
		return 0, f.wrong("a whole number")
	}
	n, err := strconv.Atoi(s)
	if err != nil {
		return 0, f.wrong("a whole number")
	}
	return n, nil
}

// count reads a whole number of at least 1.
func (f field) count() (int, error) {
	n, err := f.integer()
	if err == nil && n < 1 {
		err = f.wrong("a whole number above zero")
	}
	return n, err
}

func (f field) decimal() (float64, error) {
	s := f.number()
	if !only(s, "+-.0123456789eE") {
		return 0, f.wrong("a number with a decimal point")
	}
	x, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsInf(x, 0) {
		return 0, f.wrong("a number with a decimal point")
	}
	return x, nil
}

// only reports whether s is made of the given ASCII characters alone. It keeps
// out what package strconv would accept: "inf", "nan", "0x10" and "1_000".
func only(s, characters string) bool {
	return strings.Trim(s, characters) == ""
}

// display turns bytes of any kind into text that is safe to print: control
// characters are replaced, except the allowed ones.
func display(b []byte, allowed string) string {
	s := string(b)
	if !utf8.ValidString(s) {
		latin1 := make([]rune, len(b))
		for i, c := range b {
			latin1[i] = rune(c)
		}
		s = string(latin1)
	}
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) && !strings.ContainsRune(allowed, r) {
			return unicode.ReplacementChar
		}
		return r
	}, s)
}
