package head

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
)

// A field is a key of a JSON object and where its value goes.
type field struct {
	key   string
	value any
	form  string // of the value, in words
}

// decodeObject reads one flat JSON object. encoding/json would take keys in any
// case, the last of two equal keys, and null for a number.
func decodeObject(text string, fields []field) error {
	d := json.NewDecoder(strings.NewReader(text))
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return errors.New("not a JSON object")
	}
	seen := map[string]bool{}
	for d.More() {
		t, err := d.Token()
		if err != nil {
			return fmt.Errorf("not JSON: %w", err)
		}
		key := t.(string) // the decoder takes nothing else for a key
		i := slices.IndexFunc(fields, func(f field) bool { return f.key == key })
		switch {
		case i < 0:
			return fmt.Errorf("unknown key %.40q: expected %s", key, keys(fields))
		case seen[key]:
			return fmt.Errorf("key %.40q is given twice: keep one", key)
		}
		seen[key] = true
		var raw json.RawMessage
		if err := d.Decode(&raw); err != nil {
			return fmt.Errorf("key %q: not JSON: %w", key, err)
		}
		if string(raw) == "null" {
			return fmt.Errorf("key %q is null: leave it out", key)
		}
		if err := json.Unmarshal(raw, fields[i].value); err != nil {
			if note, ok := errors.AsType[*noteError](err); ok {
				return note
			}
			return fmt.Errorf("key %q is %.80s: expected %s", key, raw, fields[i].form)
		}
	}
	if _, err := d.Token(); err != nil {
		return fmt.Errorf("not JSON: %w", err)
	}
	if _, err := d.Token(); err != io.EOF {
		return errors.New("text after the JSON object: remove it")
	}
	return nil
}

func keys(fields []field) string {
	all := make([]string, len(fields))
	for i, f := range fields {
		all[i] = f.key
	}
	return strings.Join(all, ", ")
}
