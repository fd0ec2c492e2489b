package array_test

import (
	"fmt"
	"log"
	"strings"

	"calotte/topo/recording/array"
)

// A table of two sites and four samples becomes a recording, as if it came from
// EDF.
func ExampleArray_Recording() {
	table := "P7,P8\n1,2\n3,4\n5,6\n7,8\n"
	a, err := array.OpenText(strings.NewReader(table))
	if err != nil {
		log.Fatal(err)
	}
	rec, err := a.Recording(array.Description{Rate: 250, Unit: "uV"})
	if err != nil {
		log.Fatal(err)
	}
	for block, err := range rec.Blocks([]int{0, 1}) {
		if err != nil {
			log.Fatal(err)
		}
		for i, samples := range block.Samples {
			fmt.Printf("%s %g Hz %v %s\n", rec.Signals[i].Label, rec.Rate(i), samples, rec.Signals[i].Unit)
		}
	}
	// Output:
	// P7 250 Hz [1 3 5 7] uV
	// P8 250 Hz [2 4 6 8] uV
}
