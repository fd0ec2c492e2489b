package likeness

import (
	"bytes"
	"encoding/json"
	"maps"
	"slices"
	"strconv"
	"strings"
)

// described compares JSON files, which say what they were made of and, under
// files, the hashes of files that were written with them.
func (c *comparison) described(old, again []byte) error {
	return c.objects(old, again, "")
}

// record compares what two files say of how they were made. Where is not part
// of that.
func (c *comparison) record(old, again []byte) error {
	return c.objects(old, again, "provenance")
}

// objects compares JSON texts that stand at a place of a file.
func (c *comparison) objects(old, again []byte, place string) error {
	a, err := decoded(old)
	if err != nil {
		return differs("it is damaged: %v", err)
	}
	b, err := decoded(again)
	if err != nil {
		return err
	}
	w := walk{comparison: c, kinds: map[string]kind{}}
	w.gather(a, place)
	w.gather(b, place)
	return w.compare(a, b, place)
}

func decoded(text []byte) (any, error) {
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	var v any
	err := d.Decode(&v)
	return v, err
}

// A walk goes through two values of JSON. Numbers are of one kind where their
// keys are the same, be it in many elements of a list.
type walk struct {
	*comparison
	kinds map[string]kind
}

func (w walk) gather(v any, place string) {
	switch v := v.(type) {
	case json.Number:
		w.kinds[place] = w.kinds[place].with(v.String())
	case []any:
		for _, e := range v {
			w.gather(e, place+"[]")
		}
	case map[string]any:
		for key, e := range v {
			w.gather(e, place+"."+key)
		}
	}
}

func (w walk) compare(a, b any, place string) error {
	switch b := b.(type) {
	case json.Number:
		if a, ok := a.(json.Number); ok && w.number(a.String(), b.String(), w.kinds[place]) {
			return nil
		}
	case string:
		if a, ok := a.(string); ok && w.text(a, b) {
			return nil
		}
	case []any:
		if a, ok := a.([]any); ok {
			return w.lists(a, b, place)
		}
	case map[string]any:
		if a, ok := a.(map[string]any); ok {
			return w.keys(a, b, place)
		}
	default: // true, false, null
		if a == b {
			return nil
		}
	}
	return unlike(named(place), plain(a), plain(b))
}

func (w walk) lists(a, b []any, place string) error {
	if len(a) != len(b) {
		return unlike("the length of "+named(place), strconv.Itoa(len(a)), strconv.Itoa(len(b)))
	}
	for i := range b {
		if err := w.compare(a[i], b[i], place+"[]"); err != nil {
			return err
		}
	}
	return nil
}

func (w walk) keys(a, b map[string]any, place string) error {
	if place == "provenance" || place == ".provenance" {
		a, b = maps.Clone(a), maps.Clone(b)
		delete(a, "made_on")
		delete(b, "made_on")
	}
	if isTable, err := w.packed(a, b, place); isTable {
		return err
	}
	if unseen(a, b, place) {
		return nil
	}
	names := slices.Sorted(maps.Keys(b))
	if before := slices.Sorted(maps.Keys(a)); !slices.Equal(before, names) {
		return unlike("the keys of "+named(place), strings.Join(before, " "), strings.Join(names, " "))
	}
	if name, ok := b["name"].(string); ok && place == ".files[]" && a["name"] == b["name"] &&
		a["sha256"] != b["sha256"] {
		return w.beside(name)
	}
	for _, name := range names {
		if err := w.compare(a[name], b[name], place+"."+name); err != nil {
			return err
		}
	}
	return nil
}

// named is a place as an error says it.
func named(place string) string {
	if place = strings.TrimPrefix(place, "."); place != "" {
		return place
	}
	return "it"
}

// plain is a value as an error says it.
func plain(v any) string {
	text, _ := json.Marshal(v) // it was JSON before
	return string(text)
}
