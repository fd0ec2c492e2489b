package bids_test

import (
	"bytes"
	"fmt"
	"log"
	"testing/fstest"

	"calotte/topo/recording"
	"calotte/topo/recording/bids"
	"calotte/topo/recording/event"
)

// harbour is a data set of one recording; a command would take os.DirFS.
func harbour() fstest.MapFS {
	var edf bytes.Buffer
	var signals []recording.Signal
	for _, label := range []string{"Cz", "P7"} {
		signals = append(signals,
			recording.Signal{Label: label, Unit: "uV", PhysicalMin: -100, PhysicalMax: 100,
				DigitalMin: -1000,
				DigitalMax: 1000, SamplesPerRecord: 400})
	}
	w, err := recording.NewWriter(&edf,
		recording.Header{Kind: recording.EDFPlusC, Records: 1, RecordDuration: 4, Signals: signals})
	if err != nil {
		log.Fatal(err)
	}
	if err := w.WriteRecord([][]float64{make([]float64, 400), make([]float64, 400)}, nil); err != nil {
		log.Fatal(err)
	}
	files := fstest.MapFS{"sub-01/eeg/sub-01_task-flags_eeg.edf": {Data: edf.Bytes()}}
	for path, text := range map[string]string{
		"dataset_description.json": `{"Name":"Harbour school","BIDSVersion":"1.8.0"}`,
		"task-flags_eeg.json":      `{"EEGReference":"FCz","PowerLineFrequency":50}`,
		"sub-01/eeg/sub-01_task-flags_events.tsv": "onset\tduration\ttrial_type\tresponse\n" +
			"1\t0.5\tknown\tcorrect\n" +
			"2\t0.5\tknown\twrong\n3\t0.5\tnovel\tcorrect\n",
		"sub-01/eeg/sub-01_task-flags_channels.tsv": "name\ttype\tunits\tstatus\nCz\tEEG\tuV\tgood\n" +
			"P7\tEEG\tuV\tbad\n",
	} {
		files[path] = &fstest.MapFile{Data: []byte(text)}
	}
	return files
}

func Example() {
	fsys := harbour()
	data, err := bids.Open(fsys)
	if err != nil {
		log.Fatal(err)
	}
	chosen, err := event.Parse("trial_type:known and response:correct")
	if err != nil {
		log.Fatal(err)
	}
	for _, f := range data.Recordings {
		b, err := fsys.ReadFile(f.Path)
		if err != nil {
			log.Fatal(err)
		}
		rec, err := recording.Open(bytes.NewReader(b), int64(len(b)), recording.Options{})
		if err != nil {
			log.Fatal(err)
		}
		d, err := bids.Describe(fsys, f.Path)
		if err != nil {
			log.Fatal(err)
		}
		agreed := d.Apply(rec)
		fmt.Printf("subject %s, task %s, reference %s, %d of %d events\n", f.Subject(), f.Task(),
			agreed.EEG.Reference,
			len(chosen.Select(agreed.Recording.Events)), len(agreed.Recording.Events))
		for i, c := range agreed.Channels {
			fmt.Println(agreed.Recording.Signals[i].Label, c.Type, "bad:", c.Bad)
		}
	}
	// Output:
	// subject 01, task flags, reference FCz, 1 of 3 events
	// Cz EEG bad: false
	// P7 EEG bad: true
}

func ExampleRoot() {
	fmt.Println(bids.Root("data/harbour/sub-01/eeg/sub-01_task-flags_eeg.edf"))
	// Output:
	// data/harbour sub-01/eeg/sub-01_task-flags_eeg.edf true
}
