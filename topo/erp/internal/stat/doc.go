// Package stat holds the mean, and the median with the deviation from it. What
// is held against chance is in package inference.
package stat
