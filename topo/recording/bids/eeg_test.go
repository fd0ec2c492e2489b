package bids

import (
	"bytes"
	"io"
	"reflect"
	"strings"
	"testing"

	"calotte/layout/hostile"
)

func TestReadEEG(t *testing.T) {
	for _, c := range []struct {
		name  string
		files []string
		want  EEG
	}{
		// The example of the specification, shortened (from memory of
		// BIDS 1.8).
		{"the specification's", []string{`{"TaskName":"Seeing stuff", "SamplingFrequency":2400, "EEGChannelCount":87, "EOGChannelCount":2, "TriggerChannelCount":1,
			"PowerLineFrequency":50, "EEGReference":"single electrode placed on FCz", "EEGGround":"placed on AFz",
			"SoftwareFilters":{"Anti-aliasing filter":{"half-amplitude cutoff (Hz)": 500, "Roll-off": "6dB/Octave"}},
			"HardwareFilters":"n/a", "RecordingDuration":600, "RecordingType":"continuous"}`},
			EEG{Task: "Seeing stuff", Reference: "single electrode placed on FCz", Ground: "placed on AFz",
				Rate:     2400,
				Mains:    50,
				Software: "Anti-aliasing filter (Roll-off 6dB/Octave, half-amplitude cutoff (Hz) 500)",
				Kind:     "continuous", Duration: 600,
				Counts: map[string]int{"EEG": 87, "EOG": 2, "TRIG": 1}}},
		{"nothing", []string{`{}`}, EEG{}},
		{"n/a", []string{`{"EEGReference":"n/a","PowerLineFrequency":"N/A","SoftwareFilters":"n/a","SamplingFrequency":null}`}, EEG{}},
		{"a byte-order mark and a number in quotes", []string{"\ufeff{\"PowerLineFrequency\":\"60\"}"},
			EEG{Mains: 60}},
		{"a list of filters", []string{`{"SoftwareFilters":["FIR 0.1 Hz", {"notch":50,"causal":false}]}`},
			EEG{Software: "FIR 0.1 Hz, causal false, notch 50"}},
		{"layers", []string{`{"EEGReference":"Cz","PowerLineFrequency":50,"SamplingFrequency":500}`,
			`{"EEGReference":"n/a","SamplingFrequency":512}`, `{"TaskName":"flags"}`},
			EEG{Task: "flags", Rate: 512, Mains: 50}},
		{"a line in a text", []string{"{\"EEGReference\":\"Cz\\nand \\u001b[2J\"}"},
			EEG{Reference: "Cz and  [2J"}},
	} {
		var files []io.Reader
		for _, f := range c.files {
			files = append(files, strings.NewReader(f))
		}
		if got, err := ReadEEG(files...); err != nil || !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: got %+v, error %v\nwant %+v", c.name, got, err, c.want)
		}
	}
}

func TestReadEEGRefuses(t *testing.T) {
	for text, want := range map[string]string{
		``:                                  "not the JSON of an object",
		`[]`:                                "not the JSON of an object",
		`null`:                              "not the JSON of an object",
		`{"TaskName":`:                      "not the JSON of an object",
		`{"TaskName":"a"} {}`:               "not the JSON of an object",
		`TaskName: a`:                       "not the JSON of an object",
		"{\"EEGReference\":\"\xe4\"}":       "line 1: not UTF-8",
		`{"EEGReference":7}`:                `EEGReference is 7: expected text or "n/a"`,
		`{"TaskName":["a"]}`:                `TaskName is ["a"]: expected text`,
		`{"SamplingFrequency":"fast"}`:      `SamplingFrequency is "fast": expected a number of zero or more or "n/a"`,
		`{"SamplingFrequency":-1}`:          `SamplingFrequency is -1: expected a number`,
		`{"PowerLineFrequency":true}`:       `PowerLineFrequency is true: expected a number`,
		`{"RecordingDuration":{"s":1}}`:     `RecordingDuration is {"s":1}: expected a number`,
		`{"EEGChannelCount":"many"}`:        `EEGChannelCount is "many": expected a number`,
		`{"SamplingFrequency":"1e999"}`:     `SamplingFrequency is "1e999": expected a number`,
		`{"SamplingFrequency":1e999}`:       "SamplingFrequency: json: cannot unmarshal number 1e999",
		`{"RecordingType":{"a":"continu"}}`: `RecordingType is {"a":"continu"}: expected text`,
	} {
		if _, err := ReadEEG(strings.NewReader(text)); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%s: error %v, want %s", text, err, want)
		}
	}
}

// A sidecar that is wrong in a few places is refused in one line, or read.
func FuzzEEGEdited(f *testing.F) {
	document := []byte(`{"TaskName":"flags","SamplingFrequency":500,"PowerLineFrequency":"n/a","EEGReference":"Cz","EEGGround":"AFz",
		"SoftwareFilters":{"FIR":{"cutoff":[0.1,30],"order":4}},"HardwareFilters":"n/a","RecordingType":"continuous",
		"RecordingDuration":600.5,"EEGChannelCount":64,"EOGChannelCount":2,"TriggerChannelCount":1}`)
	f.Add([]byte{0, 2, 0, 1, 0, 6, 4, 1})
	f.Fuzz(func(t *testing.T, script []byte) {
		text := hostile.Edit(document, script)
		defer hostile.Budget(t, len(text))()
		e, err := ReadEEG(bytes.NewReader(text))
		if err == nil && (e.Rate < 0 || e.Mains < 0 || e.Duration < 0 ||
			strings.ContainsAny(e.Software+e.Hardware+e.Reference+e.Task, "\n\x1b\x00")) {
			t.Errorf("%+v", e)
		}
		if err != nil && (strings.ContainsAny(err.Error(), "\r\n\x1b") || len(err.Error()) > 500) {
			t.Errorf("not a short line: %q", err)
		}
	})
}

func FuzzReadEEG(f *testing.F) {
	f.Add(`{"EEGReference":"Cz","SoftwareFilters":{"a":{"b":[1,true,null,"c"]}}}`)
	f.Add(`{"SamplingFrequency":"512","EEGChannelCount":64}`)
	f.Fuzz(func(t *testing.T, text string) {
		defer hostile.Budget(t, len(text))()
		e, err := ReadEEG(strings.NewReader(text))
		if err == nil && (e.Rate < 0 || e.Mains < 0 ||
			strings.ContainsAny(e.Software+e.Reference, "\n\x1b\x00")) {
			t.Errorf("%+v", e)
		}
	})
}
