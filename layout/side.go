package layout

// A Side is the wearer's.
type Side string

const (
	LeftSide  Side = "left"
	RightSide Side = "right"
	Midline   Side = "midline"
)
