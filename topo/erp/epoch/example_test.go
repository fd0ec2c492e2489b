package epoch_test

import (
	"fmt"

	"calotte/topo/erp/epoch"
)

func ExampleAccumulator() {
	a := epoch.NewAccumulator(1, 2)
	for _, trace := range [][][]float64{{{1, 10}}, {{2, 10}}, {{3, 10}}} {
		a.Add(trace)
	}
	fmt.Printf("%d: %.2f ± %.2f\n", a.N(), a.Mean()[0], a.SEM()[0])
	// Output: 3: [2.00 10.00] ± [0.58 0.00]
}
