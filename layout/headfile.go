package layout

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
)

// A head file is a JSON object:
//
//	{
//	  "kind": "calotte head",
//	  "version": 1,
//	  "wearer": "P07",
//	  "circumference_mm": 560,
//	  "nasion_inion_mm": 365,
//	  "ear_ear_mm": 340
//	}
//
// The wearer, and the two arcs together, may be left out.
type headFile struct {
	Kind          string  `json:"kind"`
	Version       int     `json:"version"`
	Wearer        string  `json:"wearer,omitempty"`
	Circumference float64 `json:"circumference_mm"`
	NasionInion   float64 `json:"nasion_inion_mm,omitempty"`
	EarEar        float64 `json:"ear_ear_mm,omitempty"`
}

const (
	headKind    = "calotte head"
	headVersion = 1
	maxHeadFile = 1 << 16 // bytes; a head file has some 150
)

// Encode writes the head file. It refuses what [DecodeHead] would refuse.
func (h Head) Encode(w io.Writer) error {
	if err := h.validate(); err != nil {
		return err
	}
	text, err := json.MarshalIndent(headFile{headKind, headVersion, h.Wearer, h.Circumference, h.NasionInion, h.EarEar}, "", "  ")
	if err != nil {
		return err
	}
	_, err = w.Write(append(text, '\n'))
	return err
}

// DecodeHead reads a head file. It refuses keys that it does not know or meets
// twice, anything after the object, and measures that [Head.Check] refuses.
func DecodeHead(r io.Reader) (Head, error) {
	text, err := io.ReadAll(io.LimitReader(r, maxHeadFile+1))
	if err != nil {
		return Head{}, fmt.Errorf("head file: %w", err)
	}
	h, err := decodeHead(string(text))
	if err != nil {
		return Head{}, fmt.Errorf("head file: %w", err)
	}
	return h, nil
}

func decodeHead(text string) (Head, error) {
	if len(text) > maxHeadFile {
		return Head{}, fmt.Errorf("longer than %d bytes: expected a head written by calotte", maxHeadFile)
	}
	var f headFile
	if err := decodeObject(text, f.fields()); err != nil {
		return Head{}, err
	}
	if f.Kind != headKind {
		return Head{}, fmt.Errorf("kind is %q: expected %q", f.Kind, headKind)
	}
	if f.Version != headVersion {
		return Head{}, fmt.Errorf("version is %d: this program reads version %d", f.Version, headVersion)
	}
	h := Head{Wearer: f.Wearer, Circumference: f.Circumference, NasionInion: f.NasionInion, EarEar: f.EarEar}
	return h, h.validate()
}

// A field is a key of a JSON object and where its value goes.
type field struct {
	key   string
	value any
	form  string // of the value, in words
}

func (f *headFile) fields() []field {
	return []field{
		{"kind", &f.Kind, "a text"},
		{"version", &f.Version, "a whole number"},
		{"wearer", &f.Wearer, "a text"},
		{"circumference_mm", &f.Circumference, "a number"},
		{"nasion_inion_mm", &f.NasionInion, "a number"},
		{"ear_ear_mm", &f.EarEar, "a number"},
	}
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
			return fmt.Errorf("unknown key %q: expected %s", key, keys(fields))
		case seen[key]:
			return fmt.Errorf("key %q is given twice: keep one", key)
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
			return fmt.Errorf("key %q is %s: expected %s", key, raw, fields[i].form)
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

// validate checks measures and the wearer's code.
func (h Head) validate() error {
	for _, r := range h.Wearer {
		if !strings.ContainsRune(letters+"0123456789-_", r) {
			return fmt.Errorf("wearer is %q: expected a code of letters, digits, - and _, not a name", h.Wearer)
		}
	}
	_, err := h.Check()
	return err
}
