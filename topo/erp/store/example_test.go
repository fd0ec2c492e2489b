package store_test

import (
	"fmt"
	"log"
	"os"
	"path/filepath"
	"slices"

	"calotte/topo/erp/average"
	"calotte/topo/erp/store"
)

// One pupil of the harbour school, who sees flags that she knows: her average
// is written into a folder and read again.
func Example() {
	known := &average.Average{
		Info: average.Info{Kind: average.Participant, Name: "sub-01", Condition: "known",
			Epochs: &average.Counts{Kept: 31}, Reference: "average of 3 sites", Rate: 250},
		Sites: []string{"P7", "P8", "Cz"}, Times: []float64{0.166, 0.17},
		Mean:  [][]float64{{-4, -4.5}, {-6, -6.25}, {3, 3.5}},
		SEM:   [][]float64{{0.5, 0.5}, {0.75, 0.5}, {0.25, 0.25}},
		Pairs: average.Pairs{Names: []string{"P8-P7"}, Mean: [][]float64{{-2, -1.75}}},
	}
	files := store.Files{}
	table, err := store.Save(files, known)
	if err != nil {
		log.Fatal(err)
	}
	dir, err := os.MkdirTemp("", "averages")
	if err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(dir)
	for name, content := range files {
		if err := os.WriteFile(filepath.Join(dir, name), content, 0o666); err != nil {
			log.Fatal(err)
		}
	}

	a, err := store.Open(os.DirFS(dir), table)
	if err != nil {
		log.Fatal(err)
	}
	p8 := slices.Index(a.Sites, "P8")
	fmt.Printf("%s, %s: P8 at %g ms is %g ± %g µV\n", a.Info.Name, a.Info.Title(), 1000*a.Times[1], a.Mean[p8][1],
		a.SEM[p8][1])

	// A file that somebody changed is not read in silence.
	if err := os.WriteFile(filepath.Join(dir, "sub-01_known_sem.tsv"), []byte("time\tP7\tP8\tCz\n"),
		0o666); err != nil {
		log.Fatal(err)
	}
	_, err = store.Open(os.DirFS(dir), table)
	fmt.Println(err)
	// Output:
	// sub-01, known: P8 at 170 ms is -6.25 ± 0.5 µV
	// sub-01_known_sem.tsv has changed since it was written: average again, or rename sub-01_known_average.tsv to use it alone
}
