// Package smallyaml parses YAML that people write by hand. A parser's time and
// memory grow with the square of how deep a text is nested, of how many keys
// lie beside each other, and of how long they are, so all three are bounded
// before it sees the text, and so is the text. What refers to another place of
// the text is refused, since it grows where it is read.
package smallyaml

import (
	"bytes"
	"errors"
	"fmt"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// No text that a person writes comes near these. A study of 1,500 people, each
// with settings of their own, has some 6,000 keys and 20,000 signs, four levels
// deep.
const (
	mostSigns = 100_000
	mostKeys  = 10_000
	mostDepth = 16
	mostBlank = 100 // lines in a row
	longest   = 64  // bytes of a key
)

// An Error says what of a text is no YAML, or no YAML of this size.
type Error struct {
	Line    int // 0 where the whole is meant
	Problem string
}

func (e *Error) Error() string {
	if e.Line == 0 {
		return e.Problem
	}
	return fmt.Sprintf("line %d: %s", e.Line, e.Problem)
}

// Parse returns the one document of a text of at most so many bytes, nil where
// there is none. A byte-order mark is passed over. All errors are of type
// *Error.
func Parse(text []byte, most int) (ast.Node, error) {
	switch {
	case len(text) > most:
		return nil, &Error{Problem: fmt.Sprintf("%d bytes: expected at most %d", len(text), most)}
	case !utf8.Valid(text):
		return nil, &Error{Problem: "bytes that are no UTF-8: save it as such"}
	case signs(text) > mostSigns:
		return nil, &Error{Problem: fmt.Sprintf("more than %d lines and signs: expected a text that a "+
			"person can write",
			mostSigns)}
	}
	if line := blank(text); line > 0 {
		return nil, &Error{line, fmt.Sprintf("more than %d blank lines in a row", mostBlank)}
	}
	tokens := lexer.Tokenize(string(bytes.TrimPrefix(text, []byte("\ufeff"))))
	if err := check(tokens); err != nil {
		return nil, err
	}
	file, err := parser.Parse(tokens, 0)
	if err != nil {
		return nil, plain(err)
	}
	return only(file.Docs)
}

// plain is what the library says, without the lines around it: to write them
// takes the square of their number.
func plain(err error) *Error {
	var fault yaml.Error
	if !errors.As(err, &fault) {
		return &Error{Problem: "no YAML: " + err.Error()}
	}
	return &Error{fault.GetToken().Position.Line, "no YAML: " + fault.GetMessage()}
}

// only is the one document that holds anything.
func only(documents []*ast.DocumentNode) (ast.Node, error) {
	var body ast.Node
	for _, d := range documents {
		switch {
		case d.Body == nil || d.Body.Type() == ast.CommentType:
		case body != nil:
			return nil, &Error{d.Body.GetToken().Position.Line, "a second document: expected one a file"}
		default:
			body = d.Body
		}
	}
	return body, nil
}

// signs counts the bytes that can part one token from the next, so that a text
// has at most twice as many tokens, and one more. The rest are letters, digits
// and blanks.
func signs(text []byte) int {
	n := 0
	for _, b := range text {
		switch b {
		case '\n', '\r', '-', '?', ':', ',', '[', ']', '{', '}', '#', '&', '*', '!', '|', '>', '\'', '"', '%',
			'@',
			'`':
			n++
		}
	}
	return n
}

// blank is where too many blank lines follow each other, 0 where they do
// nowhere. The lexer looks through all of them again at each.
func blank(text []byte) (line int) {
	run := 0
	for i, b := range text {
		switch {
		case b == '\n' || b == '\r' && !bytes.HasPrefix(text[i+1:], []byte("\n")):
			line++
			if run++; run > mostBlank+1 {
				return line
			}
		case b > ' ':
			run = 0
		}
	}
	return 0
}

// refused are tokens that stand for something else than themselves.
var refused = map[token.Type]string{
	token.AnchorType:   "& names a value for another place",
	token.AliasType:    "* stands for a value of another place",
	token.MergeKeyType: "<< stands for keys of another place",
	token.TagType:      "! gives a value a type",
}

// check finds what would make the parser slow.
func check(tokens token.Tokens) error {
	keys := 0
	var d depth
	for i, t := range tokens {
		line := t.Position.Line
		if why, found := refused[t.Type]; found {
			return &Error{line, why + ": write the value itself, in quotes where the sign belongs to it"}
		}
		switch t.Type {
		case token.MappingValueType:
			if key := len(tokens[max(0, i-1)].Value); key > longest {
				return &Error{line, fmt.Sprintf("a key of %d bytes: expected at most %d", key, longest)}
			}
			fallthrough
		case token.MappingKeyType, token.DocumentHeaderType, token.DocumentEndType: // cost as much
			if keys++; keys > mostKeys {
				return &Error{line, fmt.Sprintf("there are more than %d keys", mostKeys)}
			}
		}
		if d.at(t) > mostDepth {
			return &Error{line, fmt.Sprintf("values lie in each other more than %d deep", mostDepth)}
		}
	}
	return nil
}

// A depth follows how deep tokens lie in each other, or less deep than it says:
// outside of brackets, what lies in something stands to the right of it.
type depth struct {
	columns  []int
	brackets int
}

func (d *depth) at(t *token.Token) int {
	switch t.Type {
	case token.SequenceStartType, token.MappingStartType:
		d.brackets++
	case token.SequenceEndType, token.MappingEndType:
		d.brackets = max(0, d.brackets-1)
	case token.MappingValueType, token.CommentType:
	default:
		if d.brackets == 0 {
			for len(d.columns) > 0 && d.columns[len(d.columns)-1] >= t.Position.Column {
				d.columns = d.columns[:len(d.columns)-1]
			}
			d.columns = append(d.columns, t.Position.Column)
		}
	}
	return len(d.columns) + d.brackets
}
