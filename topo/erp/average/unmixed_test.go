package average

import "testing"

// What no unmixing gives is refused, and what one gives is told.
func TestUnmixed(t *testing.T) {
	good := Unmixed{Components: 20, Dimensions: 64, Removed: 3, Looks: map[string]int{"muscle": 1, "eye: blink": 2}}
	if err := good.validate(); err != nil {
		t.Error(err)
	}
	want := "3 of 20 independent components (eye: blink 2, muscle 1), which leaves 61 dimensions"
	if got := good.String(); got != want {
		t.Errorf("%q, want %q", got, want)
	}
	for _, bad := range []Unmixed{
		{Components: 2, Dimensions: 2, Removed: 3, Looks: map[string]int{"heart": 3}},
		{Components: 3, Dimensions: 2},
		{Components: 2, Dimensions: 2, Removed: -1},
		{Components: 2, Dimensions: 2, Removed: 1},
		{Components: 2, Dimensions: 2, Removed: 1, Looks: map[string]int{"he\nart": 1}},
		{Components: 3, Dimensions: 3, Removed: 1, Looks: map[string]int{"heart": -1, "mains": 2}},
	} {
		if err := bad.validate(); err == nil {
			t.Errorf("%+v is taken", bad)
		}
	}
}
