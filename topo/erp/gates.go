package erp

import "math"

// Blinks counts the averaged epochs that swing as in a blink, see
// [reject.LikeBlink]; one of several conditions counts once.
func (r *Result) Blinks() int { return r.blinks }

// LimitsAbove counts the sites whose limit on the peak-to-peak amplitude, found
// in the data, is above a value in µV, and names the one with the largest: none
// where no limits were found. Sites that stand still have no limit.
func (r *Result) LimitsAbove(value float64) (site string, largest float64, sites int) {
	for i, limit := range r.limits {
		if math.IsInf(limit, 1) || !(limit > value) {
			continue
		}
		sites++
		if limit > largest {
			site, largest = r.Montage.Sites[i], limit
		}
	}
	return site, largest, sites
}
