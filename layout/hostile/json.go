package hostile

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"strings"
)

// Edit makes a document of JSON wrong as a script says, whatever bytes it is
// made of: each four of them choose a value by the first two, what happens to
// it by the third, and how by the fourth. A fuzzer that changes the script
// stays past the syntax and comes to what is done with the values. Edit panics
// where the document itself is no JSON.
func Edit(document, script []byte) []byte {
	root, err := parse(document)
	if err != nil {
		panic(fmt.Sprintf("the document to edit is no JSON: %v", err))
	}
	top := &node{kind: array, items: []*node{root}} // so that the root has a place, too
	for ; len(script) >= 4 && len(places(top)) < mostPlaces; script = script[4:] {
		all := places(top)
		if len(all) == 0 {
			break
		}
		at := all[(int(script[0])<<8|int(script[1]))%len(all)]
		edits[int(script[2])%len(edits)](at, int(script[3]), all)
	}
	var b bytes.Buffer
	for _, n := range top.items {
		n.write(&b)
	}
	if len(script) > 0 { // what is left of it cuts the document off
		b.Truncate(b.Len() * (255 - int(script[0])) / 255)
	}
	return b.Bytes()
}

// mostPlaces bounds how far edits that multiply can go.
const mostPlaces = 5000

// Kinds of nodes.
const (
	scalar = iota
	array
	object
)

// A node is a value: a scalar has a text, a container items, and those of an
// object keys, which may stand there twice.
type node struct {
	kind  int
	text  string
	keys  []string // as JSON
	items []*node
}

func leaf(text string) *node { return &node{text: text} }

func parse(document []byte) (*node, error) {
	d := json.NewDecoder(bytes.NewReader(document))
	d.UseNumber()
	n, err := parseNext(d)
	if err != nil {
		return nil, err
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, fmt.Errorf("more behind the value")
	}
	return n, nil
}

func parseNext(d *json.Decoder) (*node, error) {
	token, err := d.Token()
	if err != nil {
		return nil, err
	}
	n := &node{kind: array}
	switch token {
	case json.Delim('{'):
		n.kind = object
	case json.Delim('['):
	default:
		text, err := json.Marshal(token)
		return leaf(string(text)), err
	}
	for d.More() {
		if n.kind == object {
			key, err := d.Token()
			if err != nil {
				return nil, err
			}
			text, err := json.Marshal(key)
			if err != nil {
				return nil, err
			}
			n.keys = append(n.keys, string(text))
		}
		item, err := parseNext(d)
		if err != nil {
			return nil, err
		}
		n.items = append(n.items, item)
	}
	_, err = d.Token()
	return n, err
}

func (n *node) write(b *bytes.Buffer) {
	if n.kind == scalar {
		b.WriteString(n.text)
		return
	}
	brackets := "[]"
	if n.kind == object {
		brackets = "{}"
	}
	b.WriteByte(brackets[0])
	for i, item := range n.items {
		if i > 0 {
			b.WriteByte(',')
		}
		if n.kind == object {
			b.WriteString(n.keys[i] + ":")
		}
		item.write(b)
	}
	b.WriteByte(brackets[1])
}

// A place is where a value stands.
type place struct {
	parent *node
	i      int
}

func (p place) value() *node { return p.parent.items[p.i] }
func (p place) put(n *node)  { p.parent.items[p.i] = n }
func (p place) keyed() bool  { return p.parent.kind == object }
func (p place) add(n *node)  { p.parent.insert(p.i, n) }
func (n *node) insert(i int, item *node) {
	n.items = append(n.items, item)
	if n.kind == object {
		n.keys = append(n.keys, n.keys[i])
	}
}

// places lists those of all values below a node, from the outside in.
func places(n *node) []place {
	var all []place
	for i, item := range n.items {
		all = append(append(all, place{n, i}), places(item)...)
	}
	return all
}

// Values that readers do not expect.
var (
	numbers = []string{"0", "-1", "0.5", "-0", "1e999", "-1e308", "5e-324", "9223372036854775808", "4294967296",
		"100000000"}
	texts = []string{`""`, `"../../x"`, `"/etc/passwd"`, `"\u001b[2J"`, `"a\nb"`, `"n/a"`, `"NaN"`,
		`"\ufffd\u202e"`,
		`"C:\\x"`, `"--force"`, `"."`}
	words = []string{"null", "true", "false", "[]", "{}", "[null]", `{"":null}`, "[[]]"}
)

// edits are what can happen to a value.
var edits = []func(at place, how int, all []place){
	func(at place, how int, _ []place) { at.put(leaf(numbers[how%len(numbers)])) },
	func(at place, how int, _ []place) { at.put(leaf(texts[how%len(texts)])) },
	func(at place, how int, _ []place) { at.put(leaf(words[how%len(words)])) },
	remove, wrap, nest, repeat, exchange, rename, lengthen, change,
}

// remove takes the value away, with its key.
func remove(at place, _ int, _ []place) {
	p := at.parent
	p.items = append(p.items[:at.i:at.i], p.items[at.i+1:]...)
	if at.keyed() {
		p.keys = append(p.keys[:at.i:at.i], p.keys[at.i+1:]...)
	}
}

// wrap puts the value into a list, or into an object under a key.
func wrap(at place, how int, _ []place) {
	n := &node{kind: array, items: []*node{at.value()}}
	if how%2 == 1 {
		n.kind, n.keys = object, []string{`"in"`}
	}
	at.put(n)
}

// nest puts brackets for the value, up to 2¹³ in each other.
func nest(at place, how int, _ []place) {
	depth := 1 << (how % 14)
	at.put(leaf(strings.Repeat("[", depth) + strings.Repeat("]", depth)))
}

// repeat gives the value again, under the same key in an object. A document has
// one value.
func repeat(at place, how int, all []place) {
	if at == all[0] {
		return
	}
	for range 1 + how%40 {
		at.add(at.value())
	}
}

// exchange puts another value in its place, which keeps its own.
func exchange(at place, how int, all []place) {
	other := all[how%len(all)].value()
	if !other.holds(at.value()) && !at.value().holds(other) {
		at.put(other)
	}
}

// holds reports whether another node is this one or below it.
func (n *node) holds(other *node) bool {
	if n == other {
		return true
	}
	for _, item := range n.items {
		if item.holds(other) {
			return true
		}
	}
	return false
}

// rename gives the value another key: in capitals, of its neighbour, or an odd
// one.
func rename(at place, how int, _ []place) {
	if !at.keyed() {
		return
	}
	keys := at.parent.keys
	switch how % 3 {
	case 0:
		keys[at.i] = strings.ToUpper(keys[at.i])
	case 1:
		keys[at.i] = keys[(at.i+1)%len(keys)]
	case 2:
		keys[at.i] = texts[how%len(texts)]
	}
}

// lengthen makes a text of the value, of up to 2¹⁵ letters.
func lengthen(at place, how int, _ []place) {
	at.put(leaf(`"` + strings.Repeat("x", 1<<(how%16)) + `"`))
}

// change puts a digit in the place of a letter of a scalar, where that leaves
// one.
func change(at place, how int, _ []place) {
	v := at.value()
	if v.kind != scalar || len(v.text) < 3 {
		return
	}
	i := 1 + how%(len(v.text)-2)
	if text := v.text[:i] + string('0'+rune(how%10)) + v.text[i+1:]; json.Valid([]byte(text)) {
		at.put(leaf(text))
	}
}
