package inference_test

import (
	"context"
	"fmt"
	"log"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"

	"calotte/topo/inference"
)

// differences are those of ten people in µV at three sites, four samples each:
// an effect at the last two samples of the first two sites. They stand for what
// averages of people give.
func differences() *mat.Dense {
	data := mat.NewDense(10, 12, nil)
	for person := range 10 {
		for point := range 12 {
			value := float64((7*person+5*point)%11-5) / 5
			if site, sample := point/4, point%4; site < 2 && sample >= 2 {
				value -= 2
			}
			data.Set(person, point, value)
		}
	}
	return data
}

// Where in space and time ten people's differences are more than chance.
func ExampleTestClusters() {
	neighbours := [][]int{{1}, {0, 2}, {1}} // three sites in a row
	people, err := inference.Paired(10)
	if err != nil {
		log.Fatal(err)
	}
	test, err := inference.TestClusters(context.Background(), people, differences(), neighbours, .05,
		inference.Options{Arrangements: 5000, Seed: 1})
	if err != nil {
		log.Fatal(err)
	}
	for _, c := range test.Clusters {
		fmt.Printf("points %v: p = %.3f\n", c.Points, c.P)
	}
	// Output: points [2 3 6 7]: p = 0.002
}

// Which points are more than chance, each corrected for all others.
func ExampleTestLargest() {
	people, err := inference.Paired(10)
	if err != nil {
		log.Fatal(err)
	}
	test, err := inference.TestLargest(context.Background(), people, differences(),
		inference.Options{Arrangements: 5000, Seed: 1})
	if err != nil {
		log.Fatal(err)
	}
	for sample := range 4 {
		fmt.Printf("t = %.1f, p = %.3f\n", test.T[sample], test.Corrected[sample])
	}
	// Output:
	// t = 0.1, p = 1.000
	// t = -0.4, p = 1.000
	// t = -9.0, p = 0.002
	// t = -9.8, p = 0.002
}

func ExampleTInterval() {
	low, high, err := inference.TInterval([]float64{-2.1, -.4, -1.7, -3, -1.2, -.9}, .95)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%.2f to %.2f µV\n", low, high)
	// Output: -2.52 to -0.58 µV
}

// The sites of a cross: the middle one touches all, the tips their neighbours.
func ExampleNeighbours() {
	near, err := inference.Neighbours([]r3.Vec{{Z: 90}, {X: 40, Z: 80}, {Y: 40, Z: 80}, {X: -40, Z: 80},
		{Y: -40, Z: 80}})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(near)
	// Output: [[1 2 3 4] [0 2 4] [0 1 3] [0 2 4] [0 1 3]]
}
