package epochs_test

import (
	"bytes"
	"fmt"
	"log"

	"calotte/topo/recording/epochs"
)

func Example() {
	var file bytes.Buffer
	w, err := epochs.NewWriter(&file, epochs.Shape{Epochs: 2, Sites: 1, Samples: 3})
	if err != nil {
		log.Fatal(err)
	}
	for _, epoch := range [][][]float64{{{0.5, 1, 1.5}}, {{-2, 0, 2}}} { // µV
		if err := w.Write(epoch); err != nil {
			log.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		log.Fatal(err)
	}

	r, err := epochs.NewReader(&file)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(r.Shape)
	for epoch, err := range r.All() {
		if err != nil {
			log.Fatal(err)
		}
		fmt.Println(epoch)
	}
	// Output:
	// 2 × 1 × 3
	// [[0.5 1 1.5]]
	// [[-2 0 2]]
}
