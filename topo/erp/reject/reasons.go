package reject

// Reasons for which an epoch is not averaged, as they stand in the counts.
const (
	OutsideData = "outside the data"
	AcrossGap   = "across a gap"
	TooShort    = "in a stretch too short for the filter"
	PeakToPeak  = "peak to peak"
	Repeated    = "same sample as another event" // of the condition
)
