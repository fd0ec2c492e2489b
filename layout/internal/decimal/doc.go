// Package decimal writes numbers as people read them. Units and spellings are
// the callers'.
package decimal
