package chart

import "gonum.org/v1/plot/vg"

// CurveDash is the pattern of dashes of the k-th curve, in points; nil is a
// full line.
func CurveDash(k int) []vg.Length { return curveDashes[k%len(curveDashes)] }
