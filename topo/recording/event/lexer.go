package event

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// The words that mean something when they stand without quotes.
const (
	andWord  = "and"
	orWord   = "or"
	notWord  = "not"
	timeWord = "time"
)

var keywords = []string{andWord, orWord, notWord, timeWord}

// special reports whether a character cannot be part of a bare word.
func special(r rune) bool {
	return strings.ContainsRune(`(),:<>=!"'\`, r) || unicode.IsSpace(r) || unicode.IsControl(r)
}

// A token is a word or one of the signs ( ) , : < <= > >= = !=.
type token struct {
	at     int    // offset of its first byte
	text   string // of a word, without quotes; empty at the end
	word   bool
	quoted bool
}

// is reports whether the token is a sign or a keyword.
func (t token) is(text string) bool { return !t.quoted && t.text == text }

// end reports whether the text has ended.
func (t token) end() bool { return !t.word && t.text == "" }

// next cuts the next token from the text, from an offset on, and returns the
// offset behind it.
func next(text string, from int) (t token, to int, err error) {
	for from < len(text) {
		r, size := utf8.DecodeRuneInString(text[from:])
		if !unicode.IsSpace(r) {
			break
		}
		from += size
	}
	rest := text[from:]
	if rest == "" {
		return token{at: from}, from, nil
	}
	switch first, _ := utf8.DecodeRuneInString(rest); {
	case first == '"' || first == '\'':
		return quoted(text, from)
	case !special(first):
		length := strings.IndexFunc(rest, special)
		if length < 0 {
			length = len(rest)
		}
		return token{at: from, text: rest[:length], word: true}, from + length, nil
	}
	for _, sign := range signs {
		if strings.HasPrefix(rest, sign) {
			return token{at: from, text: sign}, from + len(sign), nil
		}
	}
	return token{}, 0, wrong(text, from, "%s has no meaning here: put the word in quotes", strange(rest))
}

// signs are the tokens that are no words, the longer before their beginnings.
var signs = [...]string{"(", ")", ",", ":", "<=", ">=", "!=", "<", ">", "="}

// quoted reads a word in quotes, which begins at the offset.
func quoted(text string, from int) (token, int, error) {
	mark := text[from]
	var word strings.Builder
	for i := from + 1; i < len(text); i++ {
		switch c := text[i]; {
		case c == mark:
			return token{from, word.String(), true, true}, i + 1, nil
		case c == '\\' && i+1 < len(text):
			i++
			word.WriteByte(text[i])
		default:
			word.WriteByte(c)
		}
	}
	return token{}, 0, wrong(text, from, "the quote %c that opens here is not closed", mark)
}
