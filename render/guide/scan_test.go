package guide

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"calotte/layout"
	"calotte/layout/scan"
)

// A guide of a scanned head: all arcs come from the mesh, the tape's measures
// from the scan.
func TestPagesOfAScan(t *testing.T) {
	file, err := os.Open(filepath.Join("..", "..", "testdata", "layout", "scan.ply"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	mesh, err := scan.ReadMesh(file, scan.PLY)
	if err != nil {
		t.Fatal(err)
	}
	landmarks, err := scan.ReadLandmarks(strings.NewReader("name x y z\n" +
		"NAS 1.14 99.33 -34.66\nINI 2.20 -88.18 -33.03\nLPA -78.77 8.00 -35.94\nRPA 78.89 7.61 -35.46\n"))
	if err != nil {
		t.Fatal(err)
	}
	scanned, err := scan.New(mesh, landmarks, "")
	if err != nil {
		t.Fatal(err)
	}
	visit := scanned.Measures().Visit()
	visit.Wearer = "P09"
	figures, err := Pages(scanned, visit, Options{Sites: layout.Set1010()})
	if err != nil {
		t.Fatal(err)
	}
	checkPages(t, figures)
	placed, err := layout.Place(scanned, layout.Set1020())
	if err != nil {
		t.Fatal(err)
	}
	text := " " + strings.Join(said(t, figures), " ") + " "
	for _, p := range placed {
		if p.Arc == midline && !strings.Contains(text, " "+layout.Centimetres(p.Distance)+" ") {
			t.Errorf("%s at %s cm is on no page", p.Name, layout.Centimetres(p.Distance))
		}
	}
}
