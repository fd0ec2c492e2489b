package event

import (
	"fmt"
	"slices"
	"strconv"
	"unicode/utf8"

	"calotte/topo/unit"
)

// A SyntaxError says where a selector breaks the grammar.
type SyntaxError struct {
	Text    string // the selector
	Column  int    // character at fault, from 1; one past the last where more is expected
	Problem string
}

// Error implements error: one line.
func (e *SyntaxError) Error() string {
	return fmt.Sprintf("selector %s, column %d: %s", strconv.Quote(e.Text), e.Column, e.Problem)
}

// wrong returns the error at an offset in bytes.
func wrong(text string, offset int, format string, args ...any) error {
	return &SyntaxError{text, utf8.RuneCountInString(text[:offset]) + 1, fmt.Sprintf(format, args...)}
}

// strange quotes the first character of a text.
func strange(text string) string {
	_, size := utf8.DecodeRuneInString(text)
	return strconv.Quote(text[:size])
}

// deepest bounds how many brackets and nots may stand inside each other.
const deepest = 100

// A parser reads a selector with one token of foresight.
type parser struct {
	source string
	token  token
	after  int // offset behind the token
	depth  int
}

func parse(text string) (node, error) {
	if i := invalid(text); i >= 0 {
		return nil, wrong(text, i, "the text is not UTF-8")
	}
	p := &parser{source: text}
	if err := p.advance(); err != nil {
		return nil, err
	}
	n, err := p.selector()
	if err != nil {
		return nil, err
	}
	switch {
	case p.token.end():
		return n, nil
	case p.token.is(")"):
		return nil, p.wrong("no bracket is open that this one could close")
	case p.token.word:
		return nil, p.wrong("%q follows without and, or, or a comma: put a label of several words in quotes",
			p.token.text)
	}
	return nil, p.wrong("%q follows where and, or, or the end is expected", p.token.text)
}

// invalid returns the offset of the first byte that is not UTF-8, or −1.
func invalid(text string) int {
	for i, r := range text {
		if r != utf8.RuneError {
			continue
		}
		if _, size := utf8.DecodeRuneInString(text[i:]); size == 1 {
			return i
		}
	}
	return -1
}

func (p *parser) wrong(format string, args ...any) error {
	return wrong(p.source, p.token.at, format, args...)
}

func (p *parser) advance() (err error) {
	p.token, p.after, err = next(p.source, p.after)
	return err
}

// taken passes over the token if it is the sign or keyword.
func (p *parser) taken(text string) (bool, error) {
	if !p.token.is(text) {
		return false, nil
	}
	return true, p.advance()
}

// chain reads parts joined by a keyword. Parts that are such a chain
// themselves, in brackets, become parts of this one.
func (p *parser) chain(joint string, part func() (node, error), inner func(node) []node,
	join func([]node) node) (node, error) {
	var of []node
	for {
		n, err := part()
		if err != nil {
			return nil, err
		}
		if parts := inner(n); parts != nil {
			of = append(of, parts...)
		} else {
			of = append(of, n)
		}
		if more, err := p.taken(joint); err != nil {
			return nil, err
		} else if !more {
			break
		}
	}
	if len(of) == 1 {
		return of[0], nil
	}
	return join(of), nil
}

func (p *parser) selector() (node, error) {
	return p.chain(orWord, p.all, func(n node) []node { a, _ := n.(anyNode); return a.of },
		func(of []node) node { return anyNode{of} })
}

func (p *parser) all() (node, error) {
	return p.chain(andWord, p.one, func(n node) []node { a, _ := n.(all); return a.of },
		func(of []node) node { return all{of} })
}

func (p *parser) one() (node, error) {
	if p.depth++; p.depth > deepest {
		return nil, p.wrong("more than %d brackets and nots stand inside each other", deepest)
	}
	defer func() { p.depth-- }()

	if negated, err := p.taken(notWord); err != nil {
		return nil, err
	} else if negated {
		n, err := p.one()
		return not{n}, err
	}
	open := p.token.at
	if inside, err := p.taken("("); err != nil {
		return nil, err
	} else if inside {
		n, err := p.selector()
		if err != nil {
			return nil, err
		}
		if !p.token.end() && !p.token.is(")") {
			return nil, p.wrong("%q follows where and, or, or a closing bracket is expected", p.token.text)
		}
		if closed, err := p.taken(")"); err != nil || closed {
			return n, err
		}
		return nil, wrong(p.source, open, "the bracket that opens here is not closed")
	}
	return p.test()
}

// test reads labels, values, a comparison or a time.
func (p *parser) test() (node, error) {
	first := p.token
	word, err := p.word("a label, a column or a bracket")
	if err != nil {
		return nil, err
	}
	if colon, err := p.taken(":"); err != nil {
		return nil, err
	} else if colon {
		if first.is(timeWord) {
			return p.time()
		}
		values, err := p.words("a value of " + strconv.Quote(word))
		return anyValue{word, values}, err
	}
	for _, c := range comparisons {
		if found, err := p.taken(c.operator); err != nil {
			return nil, err
		} else if found {
			number, err := p.number(word)
			return compare{word, c.operator, number}, err
		}
	}
	labels, err := p.more([]string{word}, "a label")
	return anyLabel{labels}, err
}

// word reads a word that is no keyword.
func (p *parser) word(what string) (string, error) {
	t := p.token
	switch {
	case t.end():
		return "", p.wrong("the text ends where %s is expected", what)
	case !t.word:
		return "", p.wrong("%q stands where %s is expected", t.text, what)
	case t.text == "":
		return "", p.wrong("nothing stands between the quotes: expected %s", what)
	case t.is(andWord) || t.is(orWord) || t.is(notWord):
		return "", p.wrong("%q stands where %s is expected: put it in quotes if it is one", t.text, what)
	}
	return t.text, p.advance()
}

func (p *parser) words(what string) ([]string, error) {
	first, err := p.word(what)
	if err != nil {
		return nil, err
	}
	return p.more([]string{first}, what)
}

// more reads further words, each behind a comma.
func (p *parser) more(words []string, what string) ([]string, error) {
	for {
		if comma, err := p.taken(","); err != nil || !comma {
			return words, err
		}
		at := p.token.at
		word, err := p.word(what)
		if err != nil {
			return nil, err
		}
		if slices.Contains(words, word) {
			return nil, wrong(p.source, at, "%q is given twice: keep one", word)
		}
		words = append(words, word)
	}
}

func (p *parser) number(column string) (float64, error) {
	at := p.token.at
	word, err := p.word("a number to compare " + strconv.Quote(column) + " with")
	if err != nil {
		return 0, err
	}
	x, ok := finiteNumber(word)
	if !ok {
		return 0, wrong(p.source, at,
			"%q is no number without a unit, to compare %q with: texts are chosen as %s",
			word, column, anyValue{column, []string{word}}.text())
	}
	return x, nil
}

func (p *parser) time() (node, error) {
	at := p.token.at
	word, err := p.word("a range of times such as 0s..60s")
	if err != nil {
		return nil, err
	}
	var span unit.Span
	if err := span.Set(word); err != nil {
		return nil, wrong(p.source, at, "%v; a column named time is written \"time\", in quotes", err)
	}
	return during{span}, nil
}
