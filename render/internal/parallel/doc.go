// Package parallel does work on as many processors as there are. What the work
// is, and that its order does not matter, the callers know.
package parallel
