// Package figure holds what every figure of a verb has in common: its size and
// files, marks, declared windows, specs. What is drawn is in the rooms of
// render.
package figure
