// Package methods puts the words of a methods section together from what
// averages and figures say of themselves; nothing is claimed that no file says.
package methods
