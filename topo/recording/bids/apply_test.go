package bids

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"calotte/topo/recording"
)

// signal returns a signal of 100 samples a record.
func signal(label, unit string) recording.Signal {
	return recording.Signal{Label: label, Unit: unit, PhysicalMin: -100, PhysicalMax: 100, DigitalMin: -1000,
		DigitalMax: 1000, SamplesPerRecord: 100}
}

// file returns a recording of 4 s at 100 Hz, with one annotation.
func file(t testing.TB, signals ...recording.Signal) []byte {
	t.Helper()
	var b bytes.Buffer
	w, err := recording.NewWriter(&b,
		recording.Header{Kind: recording.EDFPlusC, Records: 4, RecordDuration: 1, Signals: signals})
	if err != nil {
		t.Fatal(err)
	}
	for i := range 4 {
		samples := make([][]float64, len(signals))
		for s := range samples {
			samples[s] = make([]float64, 100)
			samples[s][0] = float64(10*i + s)
		}
		events := []recording.Event{{Onset: 0.5, Text: "T1"}}
		if i > 0 {
			events = nil
		}
		if err := w.WriteRecord(samples, events); err != nil {
			t.Fatal(err)
		}
	}
	return b.Bytes()
}

func open(t testing.TB, b []byte) *recording.Recording {
	t.Helper()
	r, err := recording.Open(bytes.NewReader(b), int64(len(b)), recording.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// late returns the file with the times of its records later by 0.25 s, and by
// further 10 s from the third on.
func late(file []byte) []byte {
	file = slices.Clone(file)
	for i, start := range []string{"+0.25", "+1.25", "+12.25", "+13.25"} {
		old := fmt.Sprintf("+%d\x14\x14\x00", i)
		at := bytes.Index(file, []byte(old))
		rest := bytes.Clone(file[at+len(old) : at+60])
		copy(file[at:], start+"\x14\x14\x00")
		copy(file[at+len(start)+3:], rest)
	}
	copy(file[192:], "EDF+D")
	return file
}

func TestApply(t *testing.T) {
	names := func(labels ...string) (s []recording.Signal) {
		for _, l := range labels {
			s = append(s, signal(l, "uV"))
		}
		return s
	}
	rows := func(names ...string) (c []Channel) {
		for _, n := range names {
			c = append(c, Channel{Name: n, Type: "EEG"})
		}
		return c
	}
	for _, c := range []struct {
		name        string
		signals     []recording.Signal
		description Description
		labels      string // of the signals
		units       string
		rows        string // name of each signal's row
		notes       []string
	}{
		{"nothing", names("Cz", "Pz"), Description{}, "Cz Pz", "uV uV", " ", nil},
		{"the same", names("Cz", "Pz"), Description{Channels: rows("Cz", "Pz")}, "Cz Pz", "uV uV", "Cz Pz",
			nil},
		{"in another order", names("Cz", "Pz"), Description{Channels: rows("Pz", "Cz")}, "Cz Pz", "uV uV",
			"Cz Pz",
			nil},
		{"another spelling", names("EEG Fpz-Cz", "T3", "pz"), Description{Channels: rows("Fpz", "T7", "PZ")},
			"EEG Fpz-Cz T3 pz", "uV uV uV", "Fpz T7 PZ", nil},
		{"names by place", names("EEG 001", "Pz", "EEG 003"), Description{Channels: rows("Cz", "Pz", "Oz")},
			"Cz Pz Oz",
			"uV uV uV", "Cz Pz Oz",
			[]string{`2 of 3 signals have other names in the table of channels: the table's are used ("EEG 001" is "Cz")`}},
		{"no place when the counts differ", names("EEG 001", "Pz"),
			Description{Channels: rows("Cz", "Pz", "Oz")},
			"EEG 001 Pz", "uV uV", " Pz",
			[]string{`1 of 2 signals are not in the table of channels ("EEG 001")`,
				`2 of 3 rows of the table of channels have no signal: passed over ("Cz")`}},
		{"a row for the annotations", names("Cz"), Description{Channels: rows("EDF Annotations", "Cz")}, "Cz",
			"uV",
			"Cz", nil},
		{"two signals of one site", names("Fp1-F7", "Fp1-F3"), Description{Channels: rows("Fp1", "X", "Y")},
			"Fp1-F7 Fp1-F3", "uV uV", " ",
			[]string{`2 of 2 signals are not in the table of channels ("Fp1-F7")`,
				`3 of 3 rows of the table of channels have no signal: passed over ("Fp1")`}},
		{"units", []recording.Signal{signal("Cz", "uV"), signal("Pz", ""), signal("Oz", "mV"),
			signal("Fz", "degC")},
			Description{Channels: []Channel{{Name: "Cz", Unit: "µV"}, {Name: "Pz", Unit: "µV"},
				{Name: "Oz", Unit: "V"},
				{Name: "Fz"}}}, "Cz Pz Oz Fz", "uV µV mV degC", "Cz Pz Oz Fz",
			[]string{`1 of 4 signals have a unit in the header that is no voltage: the table's is used ("Pz": "" becomes "µV")`,
				`1 of 4 signals have another unit in the table of channels: the header's is used ("Oz": mV, not V)`}},
		{"rates", names("Cz", "Pz"),
			Description{Channels: []Channel{{Name: "Cz", Rate: 100.001}, {Name: "Pz", Rate: 500}},
				EEG: EEG{Rate: 500, Duration: 4, Kind: "continuous"}}, "Cz Pz", "uV uV", "Cz Pz",
			[]string{`1 of 2 signals have another rate in the table of channels: the header's is used ("Pz": 100 Hz, not 500 Hz)`,
				"the JSON gives a rate of 500 Hz, the header 100 Hz: the header's is used"}},
		{"recorded time and counts", names("Cz", "Pz"),
			Description{Channels: rows("Cz", "Pz"),
				EEG: EEG{Duration: 600, Kind: "epoched",
					Counts: map[string]int{"EEG": 3, "EOG": 0, "TRIG": 1}}},
			"Cz Pz", "uV uV", "Cz Pz",
			[]string{"the JSON gives a recorded time of 600 s, the header 4 s: the header's is used",
				"the JSON says that the recording is cut into epochs",
				"the JSON counts 3 channels of type EEG, the table of channels 2: the table's " +
					"types are used",
				"the JSON counts 1 channels of type TRIG, the table of channels 0: the table's " +
					"types are used"}},
	} {
		rec := open(t, file(t, c.signals...))
		got := c.description.Apply(rec)
		var labels, units, rows []string
		for i, s := range got.Recording.Signals {
			labels, units, rows = append(labels, s.Label), append(units, s.Unit), append(rows,
				got.Channels[i].Name)
		}
		if strings.Join(labels, " ") != c.labels || strings.Join(units, " ") != c.units ||
			strings.Join(rows, " ") != c.rows {
			t.Errorf("%s: labels %q, units %q, rows %q", c.name, labels, units, rows)
		}
		if !slices.Equal(got.Recording.Notes, c.notes) {
			t.Errorf("%s: notes %q\nwant %q", c.name, got.Recording.Notes, c.notes)
		}
		if !slices.Equal(rec.Signals, c.signals) || len(rec.Notes) != 0 || len(rec.Events) != 1 {
			t.Errorf("%s: the recording has changed", c.name)
		}
		if len(got.Recording.Events) != 1 || got.Recording.Events[0].Text != "T1" {
			t.Errorf("%s: events %v", c.name, got.Recording.Events)
		}
	}
}

// Onsets count from the first sample, 0.25 s after the header's start; after a
// gap of 10 s they still do.
func TestApplyEvents(t *testing.T) {
	e, err := ReadEvents(strings.NewReader("onset\tduration\ttrial_type\tsample\n"+
		"0\t1\tknown\t0\n1.99\tn/a\tnovel\t200\n5\tn/a\tknown\t500\n12.5\t0\tnovel\t250\n99\t0\tnovel\tn/a\n"),
		"")
	if err != nil {
		t.Fatal(err)
	}
	d := Description{Events: e, EEG: EEG{Kind: "continuous"}}
	got := d.Apply(open(t, late(file(t, signal("Cz", "uV"))))).Recording
	want := [][3]int{{0, 0, 1}, {0, 199, 1}, {0, 0, 0}, {1, 50, 1}, {0, 0, 0}}
	for i, e := range got.Events {
		segment, index, ok := got.Sample(e.Onset, 0)
		if w := want[i]; ok != (w[2] == 1) || segment != w[0] || index != w[1] {
			t.Errorf("event at %g s: segment %d, sample %d, %v; want %v", e.Onset, segment, index, ok,
				want[i])
		}
	}
	wantNotes := []string{
		"the JSON says continuous, the recording has 1 gaps: they are respected",
		"1 annotations of the recording are left aside: the table of events has 5 events",
		"2 of 5 events lie where nothing was recorded; onsets are s from the first sample (5 s)",
		"1 of 5 events have another sample than their onset: the onset is used (12.5 s is not sample 250)",
	}
	if !slices.Equal(got.Notes, wantNotes) {
		t.Errorf("notes %q\nwant %q", got.Notes, wantNotes)
	}
	// The samples are read as before.
	for b, err := range got.Blocks([]int{0}) {
		if err != nil || b.Samples[0][100] != float64(10+20*b.Segment) {
			t.Errorf("segment %d: %v, error %v", b.Segment, b.Samples[0][100], err)
		}
	}
}

// dataset is a small data set with one recording and all that belongs to it.
func dataset(t testing.TB) fstest.MapFS {
	f := folder(`dataset_description.json {"Name":"Harbour school","BIDSVersion":"1.8.0"}`,
		`task-flags_eeg.json {"TaskName":"flags","EEGReference":"FCz","PowerLineFrequency":50,"SamplingFrequency":100}`,
		"sub-01/eeg/sub-01_task-flags_events.tsv onset\tduration\ttrial_type\tresponse\n1\t0.5\tknown\tleft\n"+
			"2.5\t0.5\tnovel\tn/a\n",
		"sub-01/eeg/sub-01_task-flags_channels.tsv name\ttype\tunits\tstatus\nCz\tEEG\tuV\tgood\n"+
			"P7\tEEG\tuV\tbad\n"+
			"VEOG\tEOG\tuV\tn/a\n",
		"sub-01/eeg/sub-01_electrodes.tsv name\tx\ty\tz\n")
	f["sub-01/eeg/sub-01_task-flags_eeg.edf"] = &fstest.MapFile{Data: file(t, signal("Cz", "uV"),
		signal("P7", "uV"),
		signal("VEOG", "uV"))}
	return f
}

func TestDescribe(t *testing.T) {
	fsys := dataset(t)
	d, err := Describe(fsys, "sub-01/eeg/sub-01_task-flags_eeg.edf")
	if err != nil {
		t.Fatal(err)
	}
	if d.EEG.Reference != "FCz" || d.EEG.Mains != 50 || len(d.Events.Events) != 2 || len(d.Channels) != 3 ||
		!d.Channels[1].Bad || d.Electrodes == "" {
		t.Errorf("%+v", d)
	}
	agreed := d.Apply(open(t, fsys["sub-01/eeg/sub-01_task-flags_eeg.edf"].Data))
	if !slices.Equal(agreed.Bad(), []int{1}) || !slices.Equal(agreed.Others(), []int{2}) {
		t.Errorf("bad %v, others %v", agreed.Bad(), agreed.Others())
	}
	for path, want := range map[string]string{
		"sub-01/eeg/sub-01_task-flags_events.tsv": "sub-01/eeg/sub-01_task-flags_events.tsv: line " +
			"1: no column",
		"sub-01/eeg/sub-01_task-flags_channels.tsv": "sub-01/eeg/sub-01_task-flags_channels.tsv: line " +
			"1: no column",
		"task-flags_eeg.json": "task-flags_eeg.json: not the JSON of an object",
	} {
		broken := dataset(t)
		broken[path] = &fstest.MapFile{Data: []byte("broken")}
		if _, err := Describe(broken, "sub-01/eeg/sub-01_task-flags_eeg.edf"); err == nil ||
			!strings.HasPrefix(err.Error(), want) {
			t.Errorf("error %v, want %s", err, want)
		}
		if _, err := Describe(unreadable{dataset(t), path},
			"sub-01/eeg/sub-01_task-flags_eeg.edf"); err == nil ||
			!strings.Contains(err.Error(), "permission denied") {
			t.Errorf("%s unreadable: error %v", path, err)
		}
	}
}
