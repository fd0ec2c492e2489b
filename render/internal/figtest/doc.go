// Package figtest holds what the tests of figures share: heads, sites, splines,
// and the comparison with pictures that were looked at and kept. It is imported
// by tests alone.
package figtest
