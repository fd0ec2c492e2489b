package main

import (
	"bytes"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"calotte/topo/forward/study"
	"calotte/topo/recording"
)

// The recordings of the demo are a BIDS data set, with the tables that belong
// beside them.

func recordingsFolder(dir string) string { return filepath.Join(dir, "recordings") }

func recordingPath(dir, id string) string {
	return filepath.Join(recordingsFolder(dir), id, "eeg", id+"_task-flags_eeg.edf")
}

// sidecar is the path of a table beside a recording.
func sidecar(recording, suffix string) string {
	return strings.TrimSuffix(recording, "_eeg.edf") + suffix
}

// A demoFile is a file of the data set.
type demoFile struct {
	path    string
	content []byte
}

// datasetPaths are the files of the data set but for those of the people.
func datasetPaths(dir string) []string {
	var paths []string
	for _, name := range []string{"dataset_description.json", "participants.tsv", "task-flags_eeg.json"} {
		paths = append(paths, filepath.Join(recordingsFolder(dir), name))
	}
	return paths
}

// datasetFiles describe the data set as a whole.
func datasetFiles(dir string, people []*study.Participant) []demoFile {
	participants := "participant_id\tdata\n"
	for _, p := range people {
		participants += p.ID + "\tsynthetic\n"
	}
	texts := []string{
		`{"Name": "Signal flags at a harbour school (synthetic)", "BIDSVersion": "1.8.0", "DatasetType": "raw"}` +
			"\n",
		participants,
		`{"TaskName": "flags", "TaskDescription": "synthetic data: pilots look at signal flags", "EEGReference": "n/a", "PowerLineFrequency": 50, "SoftwareFilters": "n/a"}` + "\n",
	}
	var files []demoFile
	for i, path := range datasetPaths(dir) {
		files = append(files, demoFile{path, []byte(texts[i])})
	}
	return files
}

// sidecarFiles are the tables of events and channels of one recording, as it
// was written.
func sidecarFiles(path string, edf []byte, failing []string) ([]demoFile, error) {
	rec, err := recording.Open(bytes.NewReader(edf), int64(len(edf)), recording.Options{})
	if err != nil {
		return nil, err
	}
	var events, channels strings.Builder
	fmt.Fprintln(&events, "onset\tduration\ttrial_type\tpart")
	part := "first"
	for _, e := range rec.Events {
		if e.Text == study.Pause {
			part = "n/a"
		}
		fmt.Fprintf(&events, "%v\tn/a\t%s\t%s\n", e.Onset-rec.Segments[0].Start, e.Text, part)
		if e.Text == study.Pause {
			part = "second"
		}
	}
	fmt.Fprintln(&channels, "name\ttype\tunits\tstatus\tstatus_description")
	for _, s := range rec.Signals {
		kind, status, why := "EEG", "good", "n/a"
		if strings.HasPrefix(s.Label, "EOG") {
			kind = "VEOG"
		}
		if slices.Contains(failing, strings.TrimPrefix(s.Label, "EEG ")) {
			status, why = "bad", "comes loose"
		}
		fmt.Fprintf(&channels, "%s\t%s\tuV\t%s\t%s\n", s.Label, kind, status, why)
	}
	return []demoFile{
		{sidecar(path, "_events.tsv"), []byte(events.String())},
		{sidecar(path, "_channels.tsv"), []byte(channels.String())},
	}, nil
}
