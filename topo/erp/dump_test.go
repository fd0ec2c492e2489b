package erp

import (
	"fmt"
	"testing"
	"time"

	"calotte/layout/head"
	"calotte/topo/filter"
	"calotte/topo/internal/erptest"
)

func TestDump(t *testing.T) {
	var in []Input
	for i, r := range erptest.OpenRecordings(t, "S001R03.edf", "S001R04.edf") {
		in = append(in, Input{Recording: r, Name: fmt.Sprint(i)})
	}
	start := time.Now()
	u := Unmixing{Filter: filter.Design{HighPass: 1}, Surface: head.Sphere(90)}
	out, err := u.Run(t.Context(), in...)
	if err != nil {
		t.Fatal(err)
	}
	fmt.Println(time.Since(start), out.Steps, out.Gradient, out.Reached, out.Samples, out.Seconds, out.Gross,
		out.LeftOut, out.EyeSource)
	fmt.Println("  k  row  share blink side fast slope rhythm kurt mains")
	for k, x := range out.Traits {
		fmt.Printf("%3d %4s %5.1f%% %.2f %.2f  %.2f %5.2f %.2f %5.1f %.2f\n", k+1, out.Rows[x.Row], x.Share,
			x.Blink,
			x.Sideways, x.Fast, x.Slope, x.Rhythm, x.Kurtosis, x.Mains)
	}
}
