package layout

import (
	"os"
	"testing"
)

// published reads Wakeman & Henson's positions, which are metres while their
// sidecar says mm, with neither unit nor axes that a program could rely on.
func published(t *testing.T) (Points, Coordinates) {
	t.Helper()
	open := func(name string) *os.File {
		f, err := os.Open("../../shared/data/bids-electrodes/" + name)
		if err != nil {
			t.Skip("the open data are not here: ", err)
		}
		t.Cleanup(func() { f.Close() })
		return f
	}
	points, err := ReadElectrodes(open("sub-02_electrodes.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	c, err := DecodeCoordinates(open("sub-02_coordsystem.json"))
	if err != nil {
		t.Fatal(err)
	}
	return points, c
}

func TestPublishedElectrodes(t *testing.T) {
	points, c := published(t)
	d, err := Digitise(points, c, DigitiseOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if len(d.Sites) != 70 || d.Unit != "m" || len(d.Warnings) != 1 {
		t.Errorf("%d sites, unit %s, warnings %q, want 70 in m with a warning", len(d.Sites), d.Unit, d.Warnings)
	}
}
