package average_test

import (
	"fmt"
	"log"
	"os"
	"strings"

	"calotte/topo/erp/average"
	"calotte/topo/unit"
)

func ExampleAverage_At() {
	a := &average.Average{
		Sites: []string{"Cz"},
		Times: []float64{0, 0.01, 0.02, 0.03},
		Mean:  [][]float64{{0, 1, 4, 9}},
	}
	for _, text := range []string{"20ms", "25ms", "10..30ms"} {
		var l unit.Latency
		if err := l.Set(text); err != nil {
			log.Fatal(err)
		}
		values, err := a.At(l)
		if err != nil {
			log.Fatal(err)
		}
		fmt.Printf("%s: %.2f µV\n", text, values[0])
	}
	// Output:
	// 20ms: 4.00 µV
	// 25ms: 6.25 µV
	// 10..30ms: 4.67 µV
}

func ExampleGrand() {
	var members []*average.Average
	for i, amplitude := range []float64{1, 2, 6} {
		members = append(members, &average.Average{
			Info: average.Info{Kind: average.Participant, Name: fmt.Sprintf("sub-%02d", i+1),
				Condition: "known",
				Reference: "average of 1 sites"},
			Sites: []string{"Pz"}, Times: []float64{0, 0.004},
			Mean: [][]float64{{0, amplitude}},
		})
	}
	g, err := average.Grand("pilots", members, false)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%s of %d: %.2f ± %.2f µV\n", g.Info.Kind, len(g.Info.Members), g.Mean[0][1], g.SEM[0][1])
	// Output: grand average of 3: 3.00 ± 1.53 µV
}

func ExampleDifference() {
	averageOf := func(condition string, amplitude, sem float64) *average.Average {
		return &average.Average{
			Info:  average.Info{Kind: average.Participant, Name: "sub-01", Condition: condition},
			Sites: []string{"P8"}, Times: []float64{0, 0.004},
			Mean: [][]float64{{0, amplitude}}, SEM: [][]float64{{0, sem}},
		}
	}
	d, err := average.Difference(averageOf("known", -6, 0.3), averageOf("novel", -4, 0.4))
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%s: %.1f ± %.1f µV\n", d.Info.Title(), d.Mean[0][1], d.SEM[0][1])
	// Output: known minus novel: -2.0 ± 0.5 µV
}

func ExampleReadTable() {
	table := "time_ms,Fz,Cz\n0,1.5,-2\n4,1.25,-2.5\n"
	read, err := average.ReadTable(strings.NewReader(table), average.Clock{})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(read.Sites, read.Times, read.Values)
	// Output: [Fz Cz] [0 0.004] [[1.5 1.25] [-2 -2.5]]
}

func ExampleWriteTable() {
	err := average.WriteTable(os.Stdout, average.Waveforms{
		Sites: []string{"Fz", "Cz"}, Times: []float64{0, 0.004}, Values: [][]float64{{1.5, 1.25}, {-2, -2.5}},
	})
	if err != nil {
		log.Fatal(err)
	}
	// Output:
	// time	Fz	Cz
	// 0	1.5	-2
	// 0.004	1.25	-2.5
}
