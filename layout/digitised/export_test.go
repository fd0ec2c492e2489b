package digitised

// For the tests from outside.
var (
	AxisDirections = axisDirections
	RingRadius     = ringRadius
)
