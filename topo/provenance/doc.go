// Package provenance says what made a table or a figure, and out of what. Where
// that is kept, in a figure or beside a table, is the business of packages
// canvas, page and store: this one imports nothing of the program, so that a
// picture can be written without a recording or a filter.
package provenance
