// Package eye takes blinks and other movements of the eyes out of the sites, by
// regression on eye channels.
//
// A [BlinkRule] tells blinks from the rest, a [Fit] sums over all epochs of a
// person, and its [Coefficients] correct them.
//
// When it learns and when it corrects, package erp decides.
package eye
