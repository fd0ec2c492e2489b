package chart_test

import (
	"fmt"

	"gonum.org/v1/plot"

	"calotte/render/chart"
)

// The ticks of a time axis, as any axis of gonum's plot takes them.
func ExampleRoundTicks() {
	p := plot.New()
	p.X.Tick.Marker = chart.RoundTicks{Most: 8}
	for _, tick := range p.X.Tick.Marker.Ticks(-100, 600) {
		fmt.Print(tick.Label, " ")
	}
	// Output: −100 0 100 200 300 400 500 600
}
