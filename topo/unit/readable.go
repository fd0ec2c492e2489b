package unit

import "math"

// Readable rounds a time in s to the microsecond, for a text: the time of a
// sample is seldom a short decimal.
func Readable(t float64) Time { return Time(math.Round(t*1e6) / 1e6) }
