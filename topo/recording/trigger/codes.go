package trigger

import (
	"math"
	"strconv"

	"calotte/topo/recording"
)

// StatusMask keeps the bits of a status channel that hold trigger codes: 0 to
// 15. The bits above them tell of the amplifier (from memory, of BDF).
const StatusMask = 0xffff

// Codes returns an event for each sample at which one of the masked bits of a
// signal's digital value rises, be it that others fall. Its text is the masked
// value in decimal digits, its duration the time for which that value stays;
// NaN where the recording ends or pauses before.
//
// Where the lines of a parallel port do not switch at once, a code shows in
// parts; a mask of one line is safe from that.
func Codes(r *recording.Recording, signal int, mask uint32) ([]recording.Event, error) {
	c := changes{mask: mask}
	var events []recording.Event
	on := false // whether the last event still lasts
	err := walk(r, r.Digital([]int{signal}), signal, func(x float64, first bool, time float64) {
		changed, rose := c.next(uint32(int32(x)), first)
		if first {
			on = false
		}
		if changed && on {
			last := &events[len(events)-1]
			last.Duration, on = time-last.Onset, false
		}
		if rose {
			events = append(events, recording.Event{Onset: time, Duration: math.NaN(),
				Text: strconv.FormatUint(uint64(c.value), 10)})
			on = true
		}
	})
	return events, err
}

// changes follows a masked value.
type changes struct {
	mask, value uint32
}

// next takes the next value, and says whether it differs from the one before it
// and whether a bit rose. The first one does neither.
func (c *changes) next(value uint32, first bool) (changed, rose bool) {
	value &= c.mask
	before := c.value
	c.value = value
	if first {
		return false, false
	}
	return value != before, value&^before != 0
}
