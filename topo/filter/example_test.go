package filter_test

import (
	"fmt"

	"calotte/topo/filter"
	"calotte/topo/recording"
)

// A band-pass as it is usual for event-related potentials.
func ExampleNew() {
	f, err := filter.New(filter.Design{HighPass: 0.1, LowPass: 30}, 500)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(f.Taps(), "taps")
	for _, p := range f.Parts {
		fmt.Printf("%v %v, transition %v, %d taps\n", p.Kind, p.Cutoff, p.Transition, p.Taps())
	}
	fmt.Printf("%.1f dB at 0.1 Hz, %.1f dB at 30 Hz\n", filter.Decibels(f.Response(0.1)),
		filter.Decibels(f.Response(30)))
	// Output:
	// 16721 taps
	// high-pass 0.1Hz, transition 0.1Hz, 16501 taps
	// low-pass 30Hz, transition 7.5Hz, 221 taps
	// -6.0 dB at 0.1 Hz, -6.0 dB at 30 Hz
}

// A step of 10 µV under an offset of 10 mV: the low-pass keeps the offset, and
// the middle of the step stays where it was.
func ExampleFilter_Apply() {
	f, err := filter.New(filter.Design{LowPass: 20}, 200)
	if err != nil {
		fmt.Println(err)
		return
	}
	row := make([]float64, 400)
	for i := range row {
		row[i] = 10000
		if i >= 200 {
			row[i] += 10
		}
	}
	blocks := func(yield func(recording.Block, error) bool) {
		yield(recording.Block{Samples: [][]float64{row}}, nil)
	}
	for b, err := range f.Apply(blocks, []int{len(row)}) {
		if err != nil {
			fmt.Println(err)
			return
		}
		for i, x := range b.Samples[0] {
			if at := b.First + i; at%399 == 0 || at == 190 || at == 199 || at == 200 || at == 209 {
				fmt.Printf("%d: %.2f µV\n", at, x)
			}
		}
	}
	// Output:
	// 0: 10000.00 µV
	// 190: 10000.45 µV
	// 199: 10004.00 µV
	// 200: 10006.00 µV
	// 209: 10009.55 µV
	// 399: 10010.00 µV
}
