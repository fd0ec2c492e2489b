package trigger_test

import (
	"bytes"
	"fmt"
	"log"
	"math"

	"calotte/topo/recording"
	"calotte/topo/recording/trigger"
)

// screen is a recording at 100 Hz of a trigger channel and a photosensor, which
// sees the flag two samples after its code, later three, and once not.
func screen() *recording.Recording {
	trig, light := make([]float64, 500), make([]float64, 500)
	for i, late := range []int{2, 2, 3, 2, -1} {
		trig[100*i+20], trig[100*i+21] = 7, 7
		for k := range 30 {
			if late >= 0 {
				light[100*i+20+late+k] = 4
			}
		}
	}
	var file bytes.Buffer
	channel := recording.Signal{Label: "Trigger", PhysicalMin: -32768, PhysicalMax: 32767, DigitalMin: -32768,
		DigitalMax: 32767, SamplesPerRecord: 500}
	w, err := recording.NewWriter(&file,
		recording.Header{Kind: recording.EDFPlusC, Records: 1, RecordDuration: 5,
			Signals: []recording.Signal{channel, channel}})
	if err != nil {
		log.Fatal(err)
	}
	if err := w.WriteRecord([][]float64{trig, light}, nil); err != nil {
		log.Fatal(err)
	}
	r, err := recording.Open(bytes.NewReader(file.Bytes()), int64(file.Len()), recording.Options{})
	if err != nil {
		log.Fatal(err)
	}
	return r
}

func ExampleLag() {
	r := screen()
	codes, err := trigger.Codes(r, 0, trigger.StatusMask)
	if err != nil {
		log.Fatal(err)
	}
	light, err := trigger.Crossings(r, 1, trigger.Threshold{Level: 2, Dead: 0.1, Label: "light"})
	if err != nil {
		log.Fatal(err)
	}
	l := trigger.Lag(codes, light, 0.2)
	fmt.Printf("code %s for %g ms\n", codes[0].Text, math.Round(1e3*codes[0].Duration))
	fmt.Printf("lag %.1f ms, jitter %.1f ms, from %.0f to %.0f ms, missing %d\n", 1e3*l.Mean, 1e3*l.SD, 1e3*l.Min,
		1e3*l.Max, l.Missing)
	// Output:
	// code 7 for 20 ms
	// lag 22.5 ms, jitter 5.0 ms, from 20 to 30 ms, missing 1
}
