// Package screentest cuts recordings into seconds, for tests of electrodes. It
// is imported by tests alone.
package screentest
