package chart_test

import (
	"testing"

	"calotte/render/canvas"
	"calotte/render/internal/figtest"
)

// The examples look as they did when they were looked at.
func TestChartPictures(t *testing.T) {
	discard := draw
	defer func() { draw = discard }()
	draw = func(f canvas.Figure, name string) error {
		figtest.CheckGolden(t, name, f)
		return nil
	}
	ExampleTraces_Compose()
	ExampleEpochPicture_Compose()
	ExampleResponse_Compose()
	ExampleSiteTime_Compose()
	ExampleIntervals_Compose()
	ExampleShares_Compose()
	ExampleWays_Compose()
}
