package guide

import "calotte/layout"

// sideOf is the side of the wearer that a name belongs to. Names tell it where
// positions do not: on a head with unequal sides the midline leaves x = 0.
func sideOf(n layout.Name) layout.Side {
	mirror := n.Mirror()
	if mirror == n {
		return layout.Midline
	}
	if pairs := layout.Pairs([]layout.Name{n, mirror}); pairs[0].Left == n {
		return layout.LeftSide
	}
	return layout.RightSide
}
