package main

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"calotte/topo/forward/study"
	"calotte/topo/recording"
	"calotte/topo/recording/bids"
)

// The tables beside a recording say what it says, and which electrode failed.
func TestDemoSidecars(t *testing.T) {
	s, err := study.New(1)
	if err != nil {
		t.Fatal(err)
	}
	pilot := s.Participants()[6]
	var edf bytes.Buffer
	if err := pilot.Write(&edf); err != nil {
		t.Fatal(err)
	}
	path := recordingPath("demo", pilot.ID)
	if !strings.HasSuffix(path, "sub-07_task-flags_eeg.edf") {
		t.Errorf("the recording is %s", path)
	}
	files, err := sidecarFiles(path, edf.Bytes(), pilot.Failing)
	if err != nil {
		t.Fatal(err)
	}
	rec, err := recording.Open(bytes.NewReader(edf.Bytes()), int64(edf.Len()), recording.Options{})
	if err != nil {
		t.Fatal(err)
	}
	events, err := bids.ReadEvents(bytes.NewReader(files[0].content), "")
	if err != nil {
		t.Fatal(err)
	}
	parts := map[string]int{}
	for i, e := range events.Events {
		if want := rec.Events[i]; e.Text != want.Text || math.Abs(e.Onset-want.Onset) > 1e-9 {
			t.Errorf("event %d is %q at %v, want %q at %v", i, e.Text, e.Onset, want.Text, want.Onset)
		}
		part, _ := e.Columns.Get("part")
		parts[part]++
	}
	if len(events.Events) != len(rec.Events) || parts["first"] == 0 || parts["second"] == 0 || parts["n/a"] != 1 {
		t.Errorf("%d events of %d, parts %v", len(events.Events), len(rec.Events), parts)
	}
	channels, err := bids.ReadChannels(bytes.NewReader(files[1].content))
	if err != nil {
		t.Fatal(err)
	}
	described := (&bids.Description{Events: events, Channels: channels}).Apply(rec)
	if len(described.Recording.Notes) > 0 {
		t.Errorf("notes: %q", described.Recording.Notes)
	}
	if bad := described.Bad(); len(bad) != 1 ||
		rec.Signals[bad[0]].Label != "F6" && rec.Signals[bad[0]].Label != "EEG F6" {
		t.Errorf("bad: %v", bad)
	}
	if others := described.Others(); len(others) != 1 || rec.Signals[others[0]].Label != "EOG VEOG" {
		t.Errorf("no EEG: %v", others)
	}
}
