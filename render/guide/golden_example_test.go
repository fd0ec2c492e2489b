package guide_test

import (
	"testing"

	"calotte/render/canvas"
	"calotte/render/guide"
)

// The blank guide of the example looks as it did when it was looked at.
func TestBlankPictures(t *testing.T) {
	discard := draw
	defer func() { draw = discard }()
	draw = func(f canvas.Figure, name string) error {
		guide.CheckGolden(t, name, f)
		return nil
	}
	ExampleBlank()
}
