package erp_test

import (
	"bytes"
	"context"
	"fmt"
	"log"
	"math"

	"calotte/topo/recording/event"

	"calotte/topo/erp"
	"calotte/topo/recording"
	"calotte/topo/unit"
)

// sketch is a synthetic recording of three sites at 100 Hz: flags at 1, 2 and 3
// s evoke 1, 2 and 3 µV at P7 from 50 ms on, and twice that at P8.
func sketch() *recording.Recording {
	h := recording.Header{Kind: recording.EDFPlusC, Records: 4, RecordDuration: 1}
	for _, label := range []string{"P7", "P8", "Cz"} {
		h.Signals = append(h.Signals, recording.Signal{Label: label, Unit: "uV", SamplesPerRecord: 100,
			PhysicalMin: -3276.8, PhysicalMax: 3276.7, DigitalMin: -32768, DigitalMax: 32767})
	}
	var file bytes.Buffer
	w, err := recording.NewWriter(&file, h)
	if err != nil {
		log.Fatal(err)
	}
	for second := range h.Records {
		rows := [][]float64{make([]float64, 100), make([]float64, 100), make([]float64, 100)}
		for t := 5; t < 100; t++ {
			rows[0][t], rows[1][t] = float64(second), 2*float64(second)
		}
		var events []recording.Event
		if second > 0 {
			events = []recording.Event{{Onset: float64(second), Duration: math.NaN(), Text: "flag"}}
		}
		if err := w.WriteRecord(rows, events); err != nil {
			log.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		log.Fatal(err)
	}
	rec, err := recording.Open(bytes.NewReader(file.Bytes()), int64(file.Len()), recording.Options{})
	if err != nil {
		log.Fatal(err)
	}
	return rec
}

func ExamplePipeline() {
	p := erp.Pipeline{
		Conditions: []erp.Condition{{Name: "known", Events: event.Labels("flag")}},
		Epoch:      unit.Span{From: -0.02, To: 0.1},
		Baseline:   &unit.Span{From: 0, To: 0.04},
		Reject:     erp.Reject{Swing: 100},
	}
	result, err := p.Run(context.Background(), erp.Input{Recording: sketch()})
	if err != nil {
		log.Fatal(err)
	}
	averages, err := result.Averages("sub-01")
	if err != nil {
		log.Fatal(err)
	}
	a := averages[0]
	last := len(a.Times) - 1
	fmt.Printf("%d epochs at %v, %s\n", a.Info.Epochs.Kept, a.Sites, a.Info.Reference)
	fmt.Printf("P8 at %g ms: %.2f ± %.2f µV\n", 1000*a.Times[last], a.Mean[1][last], a.SEM[1][last])
	fmt.Printf("%s at %g ms: %.2f ± %.2f µV\n", a.Pairs.Names[0], 1000*a.Times[last], a.Pairs.Mean[0][last],
		a.Pairs.SEM[0][last])
	// Output:
	// 3 epochs at [P7 P8 Cz], as recorded
	// P8 at 100 ms: 4.00 ± 1.15 µV
	// P8-P7 at 100 ms: 2.00 ± 0.58 µV
}

func ExampleCondition_Set() {
	var c erp.Condition
	fmt.Println(c.Set("known=T1,T2"), c.Name, c.Events)
	fmt.Println(c.Set("well-known=T1"))
	// Output:
	// <nil> known T1,T2
	// condition "well-known=T1": the name "well-known" holds '-': use letters and digits
}
