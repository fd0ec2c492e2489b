package layout

import "gonum.org/v1/gonum/spatial/r3"

// MostSites is more than any cap has: the 10-5 system names 345. Time and
// memory of a spline grow with the cube and the square of the sites, so a table
// of more is refused.
const MostSites = 2000

// A Site is a named position on a head. Name is the text its user wrote, so
// that figures and tables show "T3" where the recording says "T3". Position is
// in mm: x to the wearer's right ear, y to the nasion, z up, from the centre of
// the head model.
type Site struct {
	Name     string
	Position r3.Vec
}
