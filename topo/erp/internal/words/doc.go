// Package words counts things in words. What is counted, and whether it
// matters, the callers know.
package words
