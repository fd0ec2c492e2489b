package eye

import (
	"math"

	"calotte/topo/measure"
)

// A BlinkRule finds blinks in a vertical eye channel. Within an epoch, the
// level of the eye at rest is the median of the channel. A blink is a stretch
// in which the channel departs from the level by more than Peak to one side,
// extended both ways for as long as it stays more than Edge away on that side.
// Both signs count, as it depends on the wiring which of them a blink has.
//
// The size of a blink in a bipolar vertical channel is some hundreds of µV,
// that of saccades and EEG seldom a hundred (common practice, no source); the
// usual limits are ours.
type BlinkRule struct {
	Peak, Edge float64 // µV, Edge ≤ Peak
}

// UsualBlinks is for a bipolar vertical channel.
var UsualBlinks = BlinkRule{Peak: 100, Edge: 20}

// Find says of each sample of a vertical eye channel whether it belongs to a
// blink.
func (r BlinkRule) Find(vertical []float64) []bool {
	in := make([]bool, len(vertical))
	level := measure.Median(vertical)
	for t, v := range vertical {
		if in[t] || !(math.Abs(v-level) > r.Peak) {
			continue
		}
		side := math.Copysign(1, v-level)
		away := func(t int) bool { return side*(vertical[t]-level) > r.Edge }
		for k := t; k >= 0 && away(k); k-- {
			in[k] = true
		}
		for k := t + 1; k < len(vertical) && away(k); k++ {
			in[k] = true
		}
	}
	return in
}
