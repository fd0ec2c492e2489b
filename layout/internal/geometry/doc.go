// Package geometry holds the rotations, motions and angles that the rooms of
// layout share. It knows no sites and no heads.
package geometry
