package digitised

import (
	"bytes"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout"
	"calotte/layout/head"
	"calotte/layout/hostile"
)

// Whatever two files say, positions are refused or come out finite, on a head.
func FuzzDigitise(f *testing.F) {
	var table bytes.Buffer
	placed, err := layout.Place(head.Sphere(90), layout.Set1020())
	if err != nil {
		f.Fatal(err)
	}
	if err := WriteElectrodes(&table, layout.Sites(placed)); err != nil {
		f.Fatal(err)
	}
	f.Add([]byte("name\tx\ty\tz\nNAS\t0\t98\t-40\nLPA\t-75\t0\t-40\nRPA\t75\t0\t-40\nCz\t0\t0\t90\n"),
		[]byte(`{"EEGCoordinateSystem": "CapTrak", "EEGCoordinateUnits": "mm"}`), 6.0)
	f.Add(table.Bytes(), []byte(`{"EEGCoordinateSystem": "Other", "EEGCoordinateUnits": "n/a"}`), 0.0)
	f.Fuzz(func(t *testing.T, table, sidecar []byte, tip float64) {
		defer hostile.Budget(t, len(table)+len(sidecar))()
		points, err := ReadElectrodes(bytes.NewReader(table))
		if err != nil {
			return
		}
		c, err := DecodeCoordinates(bytes.NewReader(sidecar))
		if err != nil {
			c = Coordinates{}
		}
		d, err := Digitise(points, c, Options{TipOffset: tip})
		if err != nil {
			return
		}
		for _, s := range d.Sites {
			if n := r3.Norm(s.Position); !(n < 3*reach) {
				t.Errorf("%+v", s)
			}
		}
		if !(d.Radius > 0) || math.IsNaN(r3.Norm(d.AxesCovariance.Degrees())) {
			t.Errorf("radius %g, axes ± %v", d.Radius, d.AxesCovariance)
		}
	})
}
