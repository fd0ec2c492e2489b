package geometry

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Centroid is the mean of the points.
func Centroid(points []r3.Vec) r3.Vec {
	var sum r3.Vec
	for _, p := range points {
		sum = r3.Add(sum, p)
	}
	return r3.Scale(1/float64(len(points)), sum)
}

// MeanRadius is the mean distance of the points from the origin.
func MeanRadius(points []r3.Vec) float64 {
	sum := 0.0
	for _, p := range points {
		sum += r3.Norm(p)
	}
	return sum / float64(len(points))
}

// AngleBetween is exact for small angles too.
func AngleBetween(p, q r3.Vec) float64 {
	return math.Atan2(r3.Norm(r3.Cross(p, q)), r3.Dot(p, q))
}
