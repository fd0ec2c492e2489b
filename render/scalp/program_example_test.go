package scalp_test

import (
	"bytes"
	"context"
	"fmt"
	"image/png"
	"log"
	"os"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/plot/vg"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/render/canvas"
	"calotte/render/scalp"
	"calotte/topo"
	"calotte/topo/erp"
	"calotte/topo/erp/montage"
	"calotte/topo/provenance"
	"calotte/topo/recording"
	"calotte/topo/recording/event"
	"calotte/topo/unit"
)

// A whole program: from a recording, by way of its average, to a map at 170 ms.
func Example() {
	file := must(os.Open("../../testdata/corpus/study/data/sub-01/eeg/sub-01_task-x_eeg.edf"))
	defer file.Close()
	rec := must(recording.Open(file, must(file.Stat()).Size(), recording.Options{}))
	pipeline := erp.Pipeline{
		Conditions: []erp.Condition{{Name: "known", Events: event.Labels("go")}},
		Epoch:      unit.Span{From: -.1, To: .4},
		Baseline:   &unit.Span{From: -.1, To: 0},
		Reference:  montage.AverageReference,
	}
	result := must(pipeline.Run(context.Background(), erp.Input{Recording: rec}))
	known := must(result.Averages("sub-01"))[0]
	amplitudes := must(known.At(unit.At(.17)))
	sites := must(layout.SitesOn(head.Sphere(89.1), known.Sites))
	spline := must(topo.New(sites, topo.Options{Radius: 89.1}))
	sheet := scalp.Sheet{
		Columns: []string{"170 ms"}, Reference: known.Info.Reference, Width: 85 * vg.Millimeter,
		Rows: []scalp.Row{{
			Title: "known", Marks: scalp.MeasuredAt(sites),
			Spline: spline, Values: mat.NewDense(len(sites), 1, amplitudes),
		}},
	}
	var picture bytes.Buffer
	check(canvas.Write(&picture, must(sheet.Compose()), canvas.PNG, provenance.Record{Program: "example"}))
	fmt.Printf("%s at 170 ms: %.2f µV over %d epochs\n", known.Sites[4], amplitudes[4], known.Info.Epochs.Kept)
	fmt.Println(must(png.DecodeConfig(&picture)).Width, "pixels wide")
	// Output:
	// Pz at 170 ms: 4.02 µV over 4 epochs
	// 1004 pixels wide
}

func must[T any](value T, err error) T {
	check(err)
	return value
}

func check(err error) {
	if err != nil {
		log.Fatal(err)
	}
}
