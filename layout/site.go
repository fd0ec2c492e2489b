package layout

import "gonum.org/v1/gonum/spatial/r3"

// A Site is a named position on a head. Name is the text its user wrote, so
// that figures and tables show "T3" where the recording says "T3". Position is
// in mm: x to the wearer's right ear, y to the nasion, z up, from the centre of
// the head model.
type Site struct {
	Name     string
	Position r3.Vec
}
