// Package places finds the inputs of recorded work in the folders that somebody
// gives, and nothing outside of them. What the work is, and whether it may be
// done again, is not decided here.
package places
