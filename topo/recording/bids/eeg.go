package bids

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"

	"calotte/layout/rowtable"
)

// EEG is what *_eeg.json says of a recording. Fields that are n/a or not there
// are empty or zero.
type EEG struct {
	Task      string
	Reference string  // in words: "Cz", "linked mastoids"
	Ground    string  // in words
	Rate      float64 // Hz
	Mains     float64 // Hz, of the power line
	Software  string  // filters that were applied, in words
	Hardware  string
	Kind      string         // "continuous", "discontinuous" or "epoched"
	Duration  float64        // s
	Counts    map[string]int // of channels by type: "EEG", "EOG", …
}

// ReadEEG reads *_eeg.json files that apply to one recording, the least
// specific first: a key of a later one takes the place of the same key of an
// earlier one. Keys that this package does not know mean nothing to it.
func ReadEEG(files ...io.Reader) (EEG, error) {
	keys := map[string]json.RawMessage{}
	for _, r := range files {
		own, err := readObject(r)
		if err != nil {
			return EEG{}, err
		}
		maps.Copy(keys, own)
	}
	o := object{keys: keys}
	e := EEG{
		Task:      o.text("TaskName"),
		Reference: o.text("EEGReference"),
		Ground:    o.text("EEGGround"),
		Rate:      o.number("SamplingFrequency"),
		Mains:     o.number("PowerLineFrequency"),
		Software:  o.words("SoftwareFilters"),
		Hardware:  o.words("HardwareFilters"),
		Kind:      o.text("RecordingType"),
		Duration:  o.number("RecordingDuration"),
	}
	for _, key := range slices.Sorted(maps.Keys(keys)) {
		kind, counts := strings.CutSuffix(key, "ChannelCount")
		if !counts || kind == "" {
			continue
		}
		if e.Counts == nil {
			e.Counts = map[string]int{}
		}
		e.Counts[channelType(kind)] = int(o.number(key))
	}
	return e, o.err
}

// channelType turns the front of a key such as TriggerChannelCount into the
// type that a table of channels has.
func channelType(kind string) string {
	if kind == "Trigger" {
		return "TRIG"
	}
	return strings.ToUpper(kind)
}

// readObject reads a JSON file that holds one object.
func readObject(r io.Reader) (keys map[string]json.RawMessage, err error) {
	b, err := readText(r)
	if err != nil {
		return nil, err
	}
	if err := json.Unmarshal(b, &keys); err != nil {
		return nil, fmt.Errorf("not the JSON of an object: %w", err)
	}
	if keys == nil {
		return nil, errors.New("not the JSON of an object: null")
	}
	return keys, nil
}

// An object reads keys of one JSON object. The first error stays.
type object struct {
	keys map[string]json.RawMessage
	err  error
}

// value returns a key's value, nil where it is missing.
func (o *object) value(key string) any {
	raw, ok := o.keys[key]
	if !ok || o.err != nil {
		return nil
	}
	var v any
	if err := json.Unmarshal(raw, &v); err != nil {
		o.err = fmt.Errorf("%s: %w", key, err)
	}
	s, ok := v.(string)
	if s = strings.TrimSpace(s); ok && (strings.EqualFold(s, rowtable.Missing) || s == "") {
		return nil
	}
	return v
}

func (o *object) wrong(key, want string) {
	if o.err == nil {
		o.err = fmt.Errorf("%s is %s: expected %s or %q", key, short(string(o.keys[key])), want,
			rowtable.Missing)
	}
}

func (o *object) text(key string) string {
	switch v := o.value(key).(type) {
	case nil:
		return ""
	case string:
		return printable(strings.TrimSpace(v))
	default:
		o.wrong(key, "text")
		return ""
	}
}

// number reads a number of zero or more, also one in quotes.
func (o *object) number(key string) float64 {
	v := o.value(key)
	if s, ok := v.(string); ok {
		if x, ok := rowtable.Decimal(strings.TrimSpace(s)); ok {
			v = x
		}
	}
	switch v := v.(type) {
	case nil:
		return 0
	case float64:
		if v >= 0 {
			return v
		}
	}
	o.wrong(key, "a number of zero or more")
	return 0
}

// words tells a value of any form in a line: {"FIR": {"cutoff": 30}} is "FIR
// (cutoff 30)".
func (o *object) words(key string) string { return printable(tell(o.value(key), 0)) }

// deepest bounds how far words go into a value.
const deepest = 6

func tell(v any, depth int) string {
	if depth > deepest {
		return "…"
	}
	var parts []string
	switch v := v.(type) {
	case nil:
		return ""
	case string:
		return strings.TrimSpace(v)
	case float64:
		return strconv.FormatFloat(v, 'g', -1, 64)
	case bool:
		return strconv.FormatBool(v)
	case []any:
		for _, part := range v {
			parts = append(parts, tell(part, depth+1))
		}
	case map[string]any:
		for _, key := range slices.Sorted(maps.Keys(v)) {
			part := key
			switch inner := v[key].(type) {
			case map[string]any:
				part += " (" + tell(inner, depth+1) + ")"
			default:
				part += " " + tell(inner, depth+1)
			}
			parts = append(parts, strings.TrimSpace(part))
		}
	}
	return strings.Join(parts, ", ")
}
