package bids

import (
	"errors"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"calotte/layout/hostile"
	"calotte/layout/rowtable"
	"calotte/topo/recording"
)

// The example of the specification (from memory of BIDS 1.8, task events).
const goStop = "onset\tduration\ttrial_type\tresponse_time\tstim_file\n" +
	"1.2\t0.6\tgo\t1.435\timages/red_square.jpg\n" +
	"5.6\t0.6\tstop\t1.739\timages/blue_square.jpg\n"

func TestReadEvents(t *testing.T) {
	e, err := ReadEvents(strings.NewReader(goStop), "")
	if err != nil {
		t.Fatal(err)
	}
	if e.Label != "trial_type" || len(e.Events) != 2 || len(e.Notes) != 0 ||
		!slices.Equal(e.Names, []string{"onset", "duration", "trial_type", "response_time", "stim_file"}) {
		t.Errorf("%+v", e)
	}
	second := e.Events[1]
	if file, _ := second.Columns.Get("stim_file"); second.Onset != 5.6 || second.Duration != 0.6 ||
		second.Text != "stop" || file != "images/blue_square.jpg" {
		t.Errorf("%+v", second)
	}
	moved := e.From(0.5)
	if moved[0].Onset != 1.7 || e.Events[0].Onset != 1.2 {
		t.Errorf("moved to %g, from %g", moved[0].Onset, e.Events[0].Onset)
	}
}

// Tables as they come from elsewhere, each with the same two events.
func TestReadEventsForms(t *testing.T) {
	for _, c := range []struct{ name, text, label, column string }{
		{"tabs", "onset\tduration\ttrial_type\n1\t0.5\tknown\n2\tn/a\tnovel\n", "", "trial_type"},
		{"byte-order mark and CR LF", "\ufeffonset\tduration\ttrial_type\r\n1\t0.5\tknown\r\n2\tn/a\tnovel\r\n",
			"",
			"trial_type"},
		{"no line end", "onset\tduration\ttrial_type\n1\t0.5\tknown\n2\tn/a\tnovel", "", "trial_type"},
		{"blank lines", "onset\tduration\ttrial_type\n\n1\t0.5\tknown\n \n2\tn/a\tnovel\n\n", "", "trial_type"},
		{"unsorted", "onset\tduration\ttrial_type\n2\tn/a\tnovel\n1\t0.5\tknown\n", "", "trial_type"},
		{"columns in another order", "trial_type\tonset\tduration\nknown\t1\t0.5\nnovel\t2\tn/a\n", "",
			"trial_type"},
		{"capitals", "Onset\tDuration\tTrial_Type\n1\t0.5\tknown\n2\tn/a\tnovel\n", "", "Trial_Type"},
		{"blanks and quotes", "onset\tduration\t\"trial_type\"\n 1 \t0.5\t\"known\"\n2\t\t novel\n", "",
			"trial_type"},
		{"exponents", "onset\tduration\ttrial_type\n1e0\t5e-1\tknown\n+2.0\tn/a\tnovel\n", "", "trial_type"},
		{"commas", "onset,duration,trial_type\n1,0.5,known\n2,,novel\n", "", "trial_type"},
		{"commas in quotes", "onset,duration,trial_type,note\n1,0.5,\"known\",\"a, \"\"b\"\"\"\n2,n/a,novel,\n",
			"",
			"trial_type"},
		{"semicolons", "onset;duration;trial_type\n1;0.5;known\n2;n/a;novel\n", "", "trial_type"},
		{"values", "onset\tduration\tvalue\n1\t0.5\tknown\n2\tn/a\tnovel\n", "", "value"},
		{"values where there is no type",
			"onset\tduration\ttrial_type\tvalue\n1\t0.5\tn/a\tknown\n2\tn/a\tnovel\t7\n",
			"", "trial_type"},
		{"another column", "onset\tduration\ttrial_type\tflag\n1\t0.5\ta\tknown\n2\tn/a\tb\tnovel\n", "flag",
			"flag"},
		{"a tab in front of a bare quote",
			"onset\tduration\ttrial_type\tinches\n1\t0.5\tknown\t5\"\n2\tn/a\tnovel\t\"\n", "",
			"trial_type"},
	} {
		e, err := ReadEvents(strings.NewReader(c.text), c.label)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		first, second := recording.Event{}, recording.Event{}
		if len(e.Events) == 2 {
			first, second = e.Events[0], e.Events[1]
		}
		if first.Onset != 1 || first.Duration != 0.5 || first.Text != "known" || second.Onset != 2 ||
			!math.IsNaN(second.Duration) || second.Text != "novel" ||
			e.Label != c.column || len(e.Notes) != 0 {
			t.Errorf("%s: %+v", c.name, e)
		}
	}
}

func TestReadEventsNotes(t *testing.T) {
	e, err := ReadEvents(strings.NewReader("onset\tduration\n1\t-1\nn/a\t1\n2\tlong\n3\t0\n"), "")
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"1 of 4 events have no onset: passed over",
		"2 of 4 events have a duration that is no number of zero or more: taken for n/a"}
	if !slices.Equal(e.Notes, want) || len(e.Events) != 3 || e.Label != "" || e.Events[0].Text != "n/a" {
		t.Errorf("%+v", e)
	}
	if e, err = ReadEvents(strings.NewReader("onset\n"), ""); err != nil || len(e.Events) != 0 {
		t.Errorf("no events: %v, %v", e, err)
	}
}

func TestReadEventsRefuses(t *testing.T) {
	for _, c := range []struct {
		name, text, label string
		line              int
		column            string
		problem           string // its beginning
	}{
		{"empty", "", "", 0, "", "the table is empty"},
		{"blank", "\n\n", "", 0, "", "the table is empty"},
		{"no onset", "time\ttrial_type\n1\tknown\n", "", 1, "", `no column "onset": expected one of times`},
		{"no header", "1.5\t0.5\tknown\n", "", 1, "", `no column "onset"`},
		{"text for an onset", "onset\tvalue\n1\t1\nlater\t2\n", "", 3, "onset", `"later" is no time`},
		{"decimal comma", "onset\tvalue\n1,5\t1\n", "", 2, "onset",
			`"1,5" is no time: expected s from the first sample, decimals after a point`},
		{"a clock", "onset\tvalue\n00:01:05\t1\n", "", 2, "onset", `"00:01:05" is no time`},
		{"infinite", "onset\tvalue\ninf\t1\n", "", 2, "onset", `"inf" is no time`},
		{"too large", "onset\tvalue\n1e400\t1\n", "", 2, "onset", `"1e400" is no time`},
		{"a thousand years", "onset\tvalue\n3e10\t1\n", "", 2, "onset", `"3e10" is no time`},
		{"a cell too few", "onset\tvalue\n1\t1\n2\n", "", 3, "", "1 columns: expected 2 as in the header"},
		{"a cell too many", "onset\tvalue\n1\t1\t\n", "", 2, "", "3 columns: expected 2"},
		{"blanks for tabs", "onset\tvalue\n1   1\n", "", 2, "", "1 columns: expected 2"},
		{"a column twice", "onset\tvalue\tValue\n", "", 1, "", `column "Value" is given twice: keep one`},
		{"a nameless column", "onset\t\tvalue\n1\t2\t3\n", "", 1, "",
			`column 2 has the name "": expected text`},
		{"no such label", "onset\tvalue\n1\t1\n", "flag", 1, "",
			`no column "flag" for the labels: there are ["onset" "value"]`},
		{"Latin-1", "onset\tvalue\n1\tok\n2\tZ\xe4hler\n", "", 3, "", "not UTF-8"},
		{"UTF-16", "\xff\xfeo\x00n\x00", "", 1, "", "not UTF-8"},
		{"a terminal's orders", "onset\tvalue\n1\ta\x1b[2J\n", "", 2, "value",
			`"a\x1b[2J" holds a control character`},
		{"long", "onset\tvalue\n" + strings.Repeat("x", 1000) + "\t1\n", "", 2, "onset",
			`"` + strings.Repeat("x", 40) + `…" is no time`},
	} {
		_, err := ReadEvents(strings.NewReader(c.text), c.label)
		var fault *rowtable.Error
		if !errors.As(err, &fault) {
			t.Errorf("%s: error %v, want a *rowtable.Error", c.name, err)
			continue
		}
		problem := (&rowtable.Error{Got: fault.Got, Want: fault.Want}).Error()
		if fault.Line != c.line || fault.Column != c.column || !strings.HasPrefix(problem, c.problem) {
			t.Errorf("%s: line %d, column %q: %s\nwant %d, %q: %s", c.name, fault.Line, fault.Column,
				problem,
				c.line, c.column, c.problem)
		}
	}
}

// The example of the specification (from memory of BIDS 1.8, EEG channels).
func TestReadChannels(t *testing.T) {
	got, err := ReadChannels(strings.NewReader("name\ttype\tunits\tdescription\tsampling_frequency\treference\tstatus\tstatus_description\n" +
		"VEOG\tVEOG\tuV\tn/a\t256\tn/a\tgood\tn/a\n" +
		"FDI\tEMG\tuV\tleft first dorsal interosseous\t256\tn/a\tgood\tn/a\n" +
		"Cz\teeg\tuV\tn/a\t256\tREF\tbad\thigh frequency noise\n" +
		"UADC001\tMISC\tn/a\tenvelope of audio\tn/a\tn/a\tn/a\tn/a\n"))
	want := []Channel{
		{Name: "VEOG", Type: "VEOG", Unit: "uV", Rate: 256},
		{Name: "FDI", Type: "EMG", Unit: "uV", Rate: 256},
		{Name: "Cz", Type: "EEG", Unit: "uV", Rate: 256, Reference: "REF", Bad: true,
			Why: "high frequency noise"},
		{Name: "UADC001", Type: "MISC"},
	}
	if err != nil || !slices.Equal(got, want) {
		t.Errorf("got %+v, error %v\nwant %+v", got, err, want)
	}
	if got, err = ReadChannels(strings.NewReader("name\nCz\n")); err != nil ||
		!slices.Equal(got, []Channel{{Name: "Cz"}}) {
		t.Errorf("names alone: %+v, %v", got, err)
	}
}

func TestReadChannelsRefuses(t *testing.T) {
	for _, c := range []struct {
		name, text string
		line       int
		column     string
		problem    string
	}{
		{"empty", "", 0, "", "the table is empty"},
		{"header alone", "name\ttype\tunits\n", 0, "", "no channel is described"},
		{"no name", "channel\ttype\nCz\tEEG\n", 1, "", `no column "name"`},
		{"a nameless channel", "name\ttype\nCz\tEEG\nn/a\tEEG\n", 3, "name", "no name: give one"},
		{"an empty name", "name\ttype\n\tEEG\n", 2, "name", "no name: give one"},
		{"a channel twice", "name\ttype\nCz\tEEG\nCz\tEOG\n", 3, "name", `channel "Cz" is given twice`},
		{"another status", "name\tstatus\nCz\tnoisy\n", 2, "status", `"noisy": expected good, bad or n/a`},
		{"status in capitals", "name\tstatus\nCz\tBAD\n", 2, "status", `"BAD": expected good, bad`},
		{"a rate with a unit", "name\tsampling_frequency\nCz\t256 Hz\n", 2, "sampling_frequency",
			`"256 Hz": expected a rate in Hz or n/a`},
		{"a rate of zero", "name\tsampling_frequency\nCz\t0\n", 2, "sampling_frequency",
			`"0": expected a rate`},
		{"a rate below zero", "name\tsampling_frequency\nCz\t-256\n", 2, "sampling_frequency", `"-256"`},
		{"a short row", "name\ttype\nCz\n", 2, "", "1 columns: expected 2"},
		{"Latin-1", "name\tunits\nCz\t\xb5V\n", 2, "", "not UTF-8"},
	} {
		_, err := ReadChannels(strings.NewReader(c.text))
		var fault *rowtable.Error
		if !errors.As(err, &fault) {
			t.Errorf("%s: error %v, want a *rowtable.Error", c.name, err)
			continue
		}
		problem := (&rowtable.Error{Got: fault.Got, Want: fault.Want}).Error()
		if fault.Line != c.line || fault.Column != c.column || !strings.HasPrefix(problem, c.problem) {
			t.Errorf("%s: line %d, column %q: %s\nwant %d, %q: %s", c.name, fault.Line, fault.Column,
				problem,
				c.line, c.column, c.problem)
		}
	}
}

// What a table holds comes back, in either form, sorted by onset.
func TestEventsRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		onsets := rapid.SliceOfN(rapid.Float64Range(-10, 1e6), 0, 8).Draw(t, "onsets")
		cell := rapid.StringMatching(`[a-zA-Z0-9ä→,;:"' ./-]{0,8}`)
		var cells []string
		var tabs, commas strings.Builder
		tabs.WriteString("onset\ttrial_type\n")
		commas.WriteString("onset,trial_type\n")
		for _, o := range onsets {
			c := cell.Draw(t, "cell")
			if clean(c) == "" {
				c = rowtable.Missing
			}
			cells = append(cells, clean(c))
			tabs.WriteString(decimal(o) + "\t" + c + "\n")
			commas.WriteString(decimal(o) + `,"` + strings.ReplaceAll(c, `"`, `""`) + "\"\n")
		}
		for _, text := range []string{tabs.String(), commas.String()} {
			e, err := ReadEvents(strings.NewReader(text), "")
			if err != nil {
				t.Fatal(err)
			}
			if len(e.Events) != len(onsets) {
				t.Fatalf("%d events, want %d", len(e.Events), len(onsets))
			}
			for i, event := range e.Events {
				if i > 0 && event.Onset < e.Events[i-1].Onset {
					t.Error("not in the order of time")
				}
				found := false
				for k := range onsets {
					found = found || onsets[k] == event.Onset && cells[k] == event.Text
				}
				if !found {
					t.Errorf("%+v was not written", event)
				}
			}
		}
	})
}

func FuzzReadEvents(f *testing.F) {
	f.Add(goStop, "")
	f.Add("\ufeffonset,duration,value\r\n1,\"0.5\",\"a \"\"b\"\"\"\r\n", "value")
	f.Add("onset;x\n1;2", "x")
	f.Fuzz(func(t *testing.T, text, label string) {
		defer hostile.Budget(t, len(text)+len(label))()
		e, err := ReadEvents(strings.NewReader(text), label)
		if err != nil {
			return
		}
		for _, event := range e.Events {
			if math.IsNaN(event.Onset) || event.Duration < 0 || event.Text == "" {
				t.Fatalf("%+v", event)
			}
			n := 0
			for range event.Columns.All() {
				n++
			}
			if n != len(e.Names) {
				t.Fatalf("%d columns of %d", n, len(e.Names))
			}
		}
	})
}

func FuzzReadChannels(f *testing.F) {
	f.Add("name\ttype\tunits\tstatus\nCz\tEEG\tuV\tbad\n")
	f.Add("name,sampling_frequency\nCz,256\n")
	f.Fuzz(func(t *testing.T, text string) {
		defer hostile.Budget(t, len(text))()
		channels, err := ReadChannels(strings.NewReader(text))
		if err == nil && len(channels) == 0 {
			t.Fatal("no channels and no error")
		}
		for _, c := range channels {
			if c.Name == "" || c.Rate < 0 {
				t.Fatalf("%+v", c)
			}
		}
	})
}

func decimal(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
