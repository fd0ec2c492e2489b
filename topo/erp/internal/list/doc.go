// Package list holds what package slices lacks for lists of sites and texts.
// Numbers are none of its business.
package list
