package scalp_test

import (
	"testing"

	"calotte/render/canvas"
	"calotte/render/internal/figtest"
)

// The example looks as it did when it was looked at.
func TestSheetPicture(t *testing.T) {
	discard := draw
	defer func() { draw = discard }()
	draw = func(f canvas.Figure, name string) error {
		figtest.CheckGolden(t, name, f)
		return nil
	}
	ExampleSheet_Compose()
}
