package digitised

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"calotte/layout/head"
	"calotte/layout/internal/headtest"
)

func TestFitSphereAgainstScipy(t *testing.T) {
	want := headtest.ReadReference(t).Scattered
	var points, stretched []r3.Vec
	e := head.Ellipsoid{Right: want.Ellipsoid.Axes[0], Front: want.Ellipsoid.Axes[1], Up: want.Ellipsoid.Axes[2]}
	for _, p := range want.Points {
		points, stretched = append(points, headtest.Vec(p)), append(stretched, e.ToUnit(headtest.Vec(p)))
	}
	f, err := fitSphere(points)
	if err != nil || headtest.Apart(f.centre, headtest.Vec(want.Sphere.Centre)) > 1e-5 ||
		math.Abs(f.radius-want.Sphere.Radius) > 1e-5 || math.Abs(f.rms-want.Sphere.RMS) > 1e-8 {
		t.Errorf("%+v, %v, scipy %+v", f, err, want.Sphere)
	}
	f, err = fitSphere(stretched)
	if err != nil || headtest.Apart(e.FromUnit(f.centre), headtest.Vec(want.Ellipsoid.Centre)) > 1e-5 ||
		math.Abs(f.radius-want.Ellipsoid.Scale) > 1e-7 || math.Abs(f.rms-want.Ellipsoid.RMS) > 1e-9 {
		t.Errorf("%+v, %v, scipy %+v", f, err, want.Ellipsoid)
	}
}

func TestFitSphereRefuses(t *testing.T) {
	var plane, line, same []r3.Vec
	for i := range 20 {
		a := float64(i)
		plane = append(plane, r3.Vec{X: math.Cos(a), Y: math.Sin(a)})
		line = append(line, r3.Vec{X: a})
		same = append(same, r3.Vec{X: 1, Y: 2, Z: 3})
	}
	for _, points := range [][]r3.Vec{nil, plane[:4], plane, line, same} {
		if f, err := fitSphere(points); err == nil && r3.Norm(f.centreError)*90 < maxCentreError {
			t.Errorf("%d points give %+v", len(points), f)
		}
	}
}
