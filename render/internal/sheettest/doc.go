// Package sheettest holds a sheet of invented maps for the tests of other
// figures. It is imported by tests alone.
package sheettest
