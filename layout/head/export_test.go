package head

// For the tests from outside.
const (
	ShareTolerance = shareTolerance
	MaxFile        = maxHeadFile
)
