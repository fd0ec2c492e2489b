package recording_test

import (
	"bytes"
	"fmt"
	"log"
	"math"

	"calotte/topo/recording"
)

// sketch returns a recording of one channel with two events.
func sketch() []byte {
	var file bytes.Buffer
	w, err := recording.NewWriter(&file, recording.Header{
		Kind: recording.EDFPlusC, Records: 2, RecordDuration: 0.5,
		Signals: []recording.Signal{{Label: "EEG Cz-A1", Unit: "uV", SamplesPerRecord: 4,
			PhysicalMin: -3276.8, PhysicalMax: 3276.7, DigitalMin: -32768, DigitalMax: 32767}},
	})
	if err != nil {
		log.Fatal(err)
	}
	none := math.NaN()
	for record, events := range [][]recording.Event{{{Onset: 0.25, Duration: none, Text: "known"}},
		{{Onset: 0.76, Duration: 0.1, Text: "novel"}}} {
		x := 4 * float64(record)
		if err := w.WriteRecord([][]float64{{x, x + 1, x + 2, x + 3}}, events); err != nil {
			log.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		log.Fatal(err)
	}
	return file.Bytes()
}

func ExampleOpen() {
	file := sketch()
	r, err := recording.Open(bytes.NewReader(file), int64(len(file)), recording.Options{})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%v, %g s, %s at %g Hz\n", r.Kind, r.Duration(), r.Signals[0].Label, r.Rate(0))
	for _, e := range r.Events {
		_, sample, _ := r.Sample(e.Onset, 0)
		fmt.Printf("%s at %g s is sample %d\n", e.Text, e.Onset, sample)
	}
	// Output:
	// EDF+C, 1 s, EEG Cz-A1 at 8 Hz
	// known at 0.25 s is sample 2
	// novel at 0.76 s is sample 6
}

func ExampleRecording_Blocks() {
	file := sketch()
	r, err := recording.Open(bytes.NewReader(file), int64(len(file)), recording.Options{})
	if err != nil {
		log.Fatal(err)
	}
	for block, err := range r.Blocks([]int{0}) {
		if err != nil {
			log.Fatal(err)
		}
		fmt.Printf("segment %d from sample %d: %.1f µV\n", block.Segment, block.First, block.Samples[0])
	}
	// Output:
	// segment 0 from sample 0: [0.0 1.0 2.0 3.0 4.0 5.0 6.0 7.0] µV
}

func ExampleRecording_Summary() {
	file := sketch()
	r, err := recording.Open(bytes.NewReader(file), int64(len(file)), recording.Options{})
	if err != nil {
		log.Fatal(err)
	}
	s := r.Summary()
	for _, c := range s.Channels {
		fmt.Printf("%s: %g Hz, %g to %g %s\n", c.Label, c.Rate, c.Min, c.Max, c.Unit)
	}
	for _, e := range s.Events {
		fmt.Printf("%s: %d, first at %g s\n", e.Text, e.Count, e.First)
	}
	// Output:
	// EEG Cz-A1: 8 Hz, -3276.8 to 3276.7 uV
	// known: 1, first at 0.25 s
	// novel: 1, first at 0.76 s
}

// Distribute shares out events that are known beforehand and says how much room
// they need.
func ExampleHeader_Distribute() {
	h := recording.Header{Kind: recording.EDFPlusC, Records: 3, RecordDuration: 1}
	records, room, err := h.Distribute([]recording.Event{
		{Onset: 0.2, Duration: math.NaN(), Text: "known"},
		{Onset: 2.1, Duration: 0.5, Text: "novel"},
	})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(len(records[0]), len(records[1]), len(records[2]), room)
	// Output:
	// 1 0 1 22
}

func ExampleMicrovolts() {
	factor, err := recording.Microvolts("mV")
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(0.25*factor, "µV")
	_, err = recording.Microvolts("degC")
	fmt.Println(err)
	// Output:
	// 250 µV
	// unit "degC" is not a voltage: expected V, mV, uV, µV or nV
}

// An epoch from two samples before an event to one behind it.
func ExampleRecording_Window() {
	file := sketch() // 8 Hz, 1 s
	r, err := recording.Open(bytes.NewReader(file), int64(len(file)), recording.Options{})
	if err != nil {
		log.Fatal(err)
	}
	for _, onset := range []float64{0.25, 0.95} {
		_, sample, coverage := r.Window(onset, -2, 1, 0)
		fmt.Printf("%g s: %v", onset, coverage)
		if coverage == recording.Whole {
			fmt.Printf(", samples %d to %d", sample-2, sample+1)
		}
		fmt.Println()
	}
	// Output:
	// 0.25 s: whole, samples 0 to 3
	// 0.95 s: outside the data
}
