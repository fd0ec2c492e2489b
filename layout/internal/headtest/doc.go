// Package headtest holds what the tests of several rooms of layout share. It is
// imported by tests alone.
package headtest
