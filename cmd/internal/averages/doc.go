// Package averages holds averages as people give them: tables, clocks,
// references. Files are opened through package archive, and nothing is computed
// here but another reference.
package averages
